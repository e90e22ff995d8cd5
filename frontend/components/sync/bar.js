/** A bar beside words that say the same. */

import { html } from "../../vendor/ui.js";

/** @param {{share: number}} props  0 to 1 */
export function Bar({ share }) {
  const percent = Math.min(100, Math.max(0, share * 100));
  return html`<div class="bar" aria-hidden="true"><span style=${{ width: `${percent}%` }}></span></div>`;
}
