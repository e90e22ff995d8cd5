/** A dialog over the screen: the browser's own, so that focus stays in it and Escape closes it. */

import { html, useEffect, useRef } from "../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.title
 * @param {boolean} props.open
 * @param {() => void} props.onClose
 * @param {import("../vendor/ui.js").ComponentChildren} [props.children]
 */
export function Dialog({ title, open, onClose, children }) {
  const element = useRef(/** @type {HTMLDialogElement | null} */ (null));
  useEffect(() => {
    const dialog = element.current;
    if (!dialog || dialog.open === open) return;
    if (open) dialog.showModal();
    else dialog.close();
  }, [open]);

  return html`<dialog class="dialog" ref=${element} onClose=${onClose} aria-label=${title}>
    ${open &&
    html`<div class="dialog-head">
        <h2>${title}</h2>
        <button type="button" class="button" onClick=${onClose}>Close</button>
      </div>
      <div class="dialog-body">${children}</div>`}
  </dialog>`;
}
