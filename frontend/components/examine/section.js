/** One section of the form, and the way to jump to it. */

import { html } from "../../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.id  one of the sections in progress.js
 * @param {string} props.title
 * @param {import("../../vendor/ui.js").ComponentChildren} [props.children]
 */
export function Section({ id, title, children }) {
  return html`<section
    class="section examine-section"
    id=${`section-${id}`}
    aria-labelledby=${`heading-${id}`}
  >
    <h2 id=${`heading-${id}`} tabindex="-1">${title}</h2>
    <div class="stack">${children}</div>
  </section>`;
}

/** Scrolls to a section and puts the focus on its heading, for those who listen. */
export function goToSection(/** @type {string} */ id) {
  const heading = document.getElementById(`heading-${id}`);
  document.getElementById(`section-${id}`)?.scrollIntoView({ block: "start" });
  heading?.focus({ preventScroll: true });
}
