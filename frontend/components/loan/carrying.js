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
import { StateShape } from "../sync-line.js";
import { bytes, count } from "../wording.js";

/** @import { Carried } from "../../store/loans/carried.js" */

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
  const { state, sentence } = carriedInWords(carried, howItStands(), word);
  const missing = carried.pictures - carried.here;
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
    ${!session.value?.loan &&
    html`<button type="button" class="button" onClick=${() => ask(false)}>
      Do not carry its pictures any longer
    </button>`}
  </section>`;
}

function howItStands() {
  const { busy, online } = syncState.value;
  return { busy, online, isAppKept: !isBeingKept.value && !cannotGoOffline.value };
}

/**
 * Says that all is here only when it is: every record, every picture that can be had, and the app.
 *
 * @param {Carried} carried
 * @param {{busy: boolean, online: boolean, isAppKept: boolean}} how
 * @param {string} word  "phone" or "tablet"
 * @returns {{state: "whole" | "coming" | "open", sentence: string}}
 */
export function carriedInWords({ pictures, here, bytes: size, absent, rows }, how, word) {
  const of = `${here} of ${count(pictures, "picture")} carried${size ? `, ${bytes(size)}` : ""}`;
  if (rows && here === pictures && how.isAppKept) {
    const what = pictures ? `: ${count(pictures, "picture")}${size ? `, ${bytes(size)}` : ""}` : "";
    return { state: "whole", sentence: `All of it is on this ${word}${what}. You need no network from here.` };
  }
  if (how.busy && how.online) {
    const sentence = rows ? `${of}. Keep the network.` : "The records are coming. Keep the network.";
    return { state: "coming", sentence };
  }
  if (!rows) return { state: "open", sentence: "Not all records are here yet. Connect to a network." };
  if (here === pictures) {
    return { state: "open", sentence: `${of}, but Fieldleaf itself is not kept on this ${word} yet.` };
  }
  if (here + absent.length === pictures) {
    return { state: "open", sentence: `${of}. All that can be had is on this ${word}.` };
  }
  const then = how.online ? "The rest is still to come." : "The rest needs a network.";
  return { state: "open", sentence: `${of}. ${then}` };
}
