/** Something to read that opens in place: how to set up a light, a definition, a caution. */

import { html, useState } from "../../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.name
 * @param {boolean} [props.open]  stands open from the start
 * @param {import("../../vendor/ui.js").ComponentChildren} [props.children]
 */
export function Fold({ name, open = false, children }) {
  // Afterwards it is the person who opens and closes it.
  const [atStart] = useState(open);
  return html`<details class="fold" open=${atStart}>
    <summary>${name}</summary>
    <div class="fold-body stack">${children}</div>
  </details>`;
}
