/** How much of a loan is on this device, and whether it can be left without a network. */

import { deviceWord } from "../../store/device-name.js";
import { useLive } from "../../store/live.js";
import { carriedLoans, carriedOf, setCarried } from "../../store/loans/carried.js";
import { session } from "../../store/session.js";
import { cannotGoOffline, isBeingKept } from "../../store/updates.js";
import { carryNow, syncNow } from "../../sync/engine.js";
import { syncState } from "../../sync/state.js";
import { html } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { Bar } from "../sync/bar.js";
import { isInstalled } from "../sync/keeping.js";
import { StateShape } from "../sync-line.js";
import { count } from "../wording.js";
import { carriedInWords } from "./carrying-words.js";

/** @param {{loan: string}} props */
export function Carrying({ loan }) {
  const isAsked = useLive(async () => (await carriedLoans()).includes(loan), [loan], null);
  const carried = useLive(() => carriedOf(loan), [loan], null);
  if (isAsked === null || !carried) return null;
  const ask = async (/** @type {boolean} */ isWanted) => {
    await setCarried(loan, isWanted);
    await carryNow();
  };
  const word = deviceWord();
  if (!isAsked) {
    return html`<section class="carrying stack" aria-label="On this device">
      <p>
        ${carried.here} of ${count(carried.pictures, "picture")} can be looked at here without a
        network.
      </p>
      <button type="button" class="button" onClick=${() => ask(true)}>
        Carry this loan’s pictures
      </button>
    </section>`;
  }
  const { state, sentence } = carriedInWords(carried, howItStands(carried), word);
  const missing = carried.pictures - carried.here;
  const isAtRisk = Boolean(session.value?.loan) && syncState.value.persisted === false && !isInstalled();
  return html`<section class="carrying stack" aria-label="On this device">
    <div class="carrying-state">
      <${StateShape} shape=${state === "whole" ? "sent" : state === "coming" ? "waiting" : "needs"} />
      <p role="status"><strong>${sentence}</strong></p>
    </div>
    ${state === "coming" &&
    carried.pictures > 0 &&
    html`<${Bar} share=${carried.here / carried.pictures} />`}
    ${carried.absent.length > 0 &&
    html`<details class="other-value">
      <summary>${count(carried.absent.length, "picture")} could not be had</summary>
      <ul class="dashed">
        ${[...new Set(carried.absent.map(({ why }) => why))].map((why) => html`<li>${why}</li>`)}
      </ul>
    </details>`}
    ${syncState.value.picturesProblem &&
    missing > 0 &&
    html`<${Notice} kind="problem"><p>${syncState.value.picturesProblem}</p><//>`}
    ${state === "open" &&
    html`<button
      type="button"
      class="button"
      disabled=${syncState.value.busy}
      onClick=${() => syncNow()}
    >
      Fetch the rest now
    </button>`}
    ${isAtRisk && html`<p class="small">${howToKeep(word)}</p>`}
    ${!session.value?.loan &&
    html`<button type="button" class="button" onClick=${() => ask(false)}>
      Do not carry its pictures any longer
    </button>`}
  </section>`;
}

/**
 * The browser has not promised to keep what is stored. Where apps on the home screen have stores of
 * their own, the pass, which is open here, would not open there; see components/sync/keeping.js.
 */
function howToKeep(/** @type {string} */ word) {
  return "standalone" in navigator
    ? "Open Fieldleaf in this browser every few days until the check, so that the browser keeps it."
    : `So that the browser keeps it, put Fieldleaf on the home screen of this ${word}: open the browser’s ` +
        "menu, then “Install app” or “Add to home screen”.";
}

function howItStands(/** @type {import("../../store/loans/carried.js").Carried} */ { rows }) {
  const { busy, carrying, online } = syncState.value;
  const isAppKept = !isBeingKept.value && !cannotGoOffline.value;
  return { busy: rows ? carrying : busy, online, isAppKept };
}
