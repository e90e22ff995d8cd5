/** A photograph or the camera over the whole screen, on neutral grey; Escape closes it. */

import { html, useEffect, useRef } from "../../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.label
 * @param {() => void} props.onClose
 * @param {import("../../vendor/ui.js").ComponentChildren} [props.children]
 */
export function Stage({ label, onClose, children }) {
  const element = useRef(/** @type {HTMLDialogElement | null} */ (null));
  useEffect(() => {
    const before = document.activeElement;
    element.current?.showModal();
    return () => before instanceof HTMLElement && before.focus({ preventScroll: true });
  }, []);
  return html`<dialog class="stage" ref=${element} aria-label=${label} onClose=${onClose}>
    ${children}
  </dialog>`;
}
