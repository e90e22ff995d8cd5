/** When photographs are sent: always, only where it costs nothing, or only when asked. */

import { syncNow } from "../../sync/engine.js";
import { canTellMetered, sendAnyway, sendOn } from "../../sync/holding.js";
import { syncState } from "../../sync/state.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { heldInWords } from "../sync-words.js";

const ALWAYS = { value: "any", label: "At once", hint: "On every network" };
const UNMETERED = {
  value: "unmetered",
  label: "Only on networks that are not metered",
  hint: "As far as the browser can tell",
};
const ASKED = {
  value: "asked",
  label: "Hold photographs until I say so",
  hint: "Records go on being sent",
};

export function HoldingChoice() {
  const held = heldInWords(syncState.value);
  const send = () => {
    sendAnyway.value = true;
    syncNow();
  };
  return html`<section class="section stack">
    <h2>When photographs are sent</h2>
    <${Choice}
      label="When photographs are sent"
      hideLabel
      name="send-on"
      options=${canTellMetered ? [ALWAYS, UNMETERED, ASKED] : [ALWAYS, ASKED]}
      value=${sendOn.value}
      onChange=${(/** @type {import("../../sync/holding.js").SendOn} */ chosen) => {
        sendAnyway.value = false;
        sendOn.value = chosen;
      }}
    />
    ${held &&
    html`<div class="scope-row">
      <p class="grow numeral"><strong>${held}</strong></p>
      <button type="button" class="button" onClick=${send}>Send them now</button>
    </div>`}
  </section>`;
}
