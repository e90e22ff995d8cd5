/** The bar at the head of every screen: the way back, the screen's name, the sync line. */

import { html } from "../vendor/ui.js";
import { SyncLine } from "./sync-line.js";

/**
 * @param {object} props
 * @param {string} props.title  the screen's one h1
 * @param {string} [props.back]  hash address of the screen above; none on the first screen
 * @param {boolean} [props.isHeading]  false where the screen shows a document with its own h1
 */
export function TopBar({ title, back, isHeading = true }) {
  return html`<header class="top-bar">
    ${back && html`<a class="top-bar-back" href=${back}><${BackShape} /><span>Back</span></a>`}
    ${isHeading
      ? html`<h1 class="top-bar-title" tabindex="-1">${title}</h1>`
      : html`<p class="top-bar-title">${title}</p>`}
    <${SyncLine} />
  </header>`;
}

function BackShape() {
  return html`<svg viewBox="0 0 24 24" width="24" height="24" fill="none" stroke="currentColor"
    stroke-width="2.5" stroke-linecap="round" stroke-linejoin="round" aria-hidden="true"
    focusable="false"><path d="M14 5 L7 12 L14 19" /></svg>`;
}
