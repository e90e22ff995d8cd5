/** The screen that stands in when what its address names is not on this tablet. */

import { html } from "../vendor/ui.js";
import { TopBar } from "./top-bar.js";

/**
 * @param {object} props
 * @param {string} props.title  of the screen
 * @param {string} [props.back]
 * @param {string} props.what  for example "This visit"
 * @param {string} props.why  why it may be missing, or what to do
 */
export function NotHere({ title, back = "#/visits", what, why }) {
  return html`<div class="screen">
    <${TopBar} title=${title} back=${back} />
    <main id="main">
      <p class="empty">
        <strong>${what} is not on this device.</strong>
        ${` ${why}`}
      </p>
    </main>
  </div>`;
}
