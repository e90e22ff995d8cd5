/** One plain line that says where the work is: saved here, waiting, sent, or in need of you. */

import { needsSignIn, session } from "../store/session.js";
import { isBeingKept } from "../store/updates.js";
import { syncState } from "../sync/state.js";
import { html } from "../vendor/ui.js";
import { stateInWords } from "./sync-words.js";

/** The line itself, a link to its own screen. */
export function SyncLine() {
  const { shape, word, detail } = stateInWords(stateToTell(), mustSignIn());
  return html`<a class=${`sync-line ${shape}`} href="#/sync">
    <${StateShape} shape=${shape} />
    <span aria-live="polite">
      <span class="visually-hidden">Sync: </span><strong>${word}.</strong>${" "}
      <span class="sync-detail">${detail}</span>
    </span>
  </a>`;
}

/** How it stands; not "sent" before the app itself is on the tablet as well. */
export function stateToTell() {
  const state = syncState.value;
  return session.value && isBeingKept.value ? { ...state, busy: true } : state;
}

/** Whether somebody works here whom the server does not let in any more. */
export function mustSignIn() {
  return session.value !== null && needsSignIn.value;
}

/** Each state has its own shape: a triangle, a half-filled disc, a tick in a ring. */
export function StateShape(/** @type {{shape: string}} */ { shape }) {
  return html`<svg class="state-shape" viewBox="0 0 24 24" width="24" height="24" fill="none"
    stroke="currentColor" stroke-width="2.2" stroke-linecap="round" stroke-linejoin="round"
    aria-hidden="true" focusable="false">
    ${shape === "needs" && html`<path d="M12 3 L22 21 H2 Z M12 10 V15 M12 18 V18.2" />`}
    ${shape === "waiting" &&
    html`<circle cx="12" cy="12" r="9" /><path d="M12 3 A9 9 0 0 1 12 21 Z" fill="currentColor" />`}
    ${shape === "sent" && html`<circle cx="12" cy="12" r="9" /><path d="M8 12.5 L11 15.5 L16 9" />`}
  </svg>`;
}
