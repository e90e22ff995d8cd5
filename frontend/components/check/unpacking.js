/** Before the crate is opened: what was found, with the cautions, held against what was agreed. */

import { html } from "../../vendor/ui.js";
import { Caution } from "../caution.js";
import { Choice } from "../choice.js";
import { Fold } from "../examine/fold.js";
import { NumberField } from "../examine/number-field.js";
import { readHoursClosed, readHumidity, readTemperature } from "../examine/numbers.js";
import { conditionsOf } from "../loan/condition-rows.js";
import { adviceOn, USUAL_HOURS } from "../loan/conditions.js";
import { TextField } from "../text-field.js";
import { lowerFirst, optionsOf, upperFirst } from "../wording.js";

/** @import { LoanCheckRow } from "../../store/types.js" */
/** @import { Held } from "../examine/held.js" */
/** @import { CheckData } from "./data.js" */

/** What the first step of a check is called, by its stage. @param {LoanCheckRow["stage"]} stage */
export function unpackingName(stage) {
  return stage === "outgoing" ? "Packing" : stage === "interim" ? "Conditions" : "Unpacking";
}

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {CheckData} props.data
 * @param {(fields: Partial<LoanCheckRow>) => void} props.onChange
 */
export function Unpacking({ held, data, onChange }) {
  const { check, loan } = data;
  const isArriving = check.stage === "arrival" || check.stage === "return";
  const field = (/** @type {string} */ name) => `loan_check:${check.id}:${name}`;
  const needed = loan.hours_to_acclimatise ?? USUAL_HOURS;
  const text = (/** @type {"venue" | "crate" | "seals" | "logger"} */ name, /** @type {string} */ label, hint = "") =>
    html`<${TextField}
      label=${label}
      value=${check[name]}
      hint=${hint}
      fieldKey=${field(name)}
      onInput=${(/** @type {string} */ words) => onChange({ [name]: words })}
    />`;

  const judged = (/** @type {string} */ name) => html`<${Judged} data=${data} name=${name} />`;

  return html`<div class="stack">
    ${isArriving &&
    html`<div class="caution" role="note">
      <p class="caution-name">Before you open the crate</p>
      <ul>
        <li>
          Leave it closed for ${needed} h in the room where it is opened, so that the sheet takes up
          the climate slowly.${" "}
          ${loan.hours_to_acclimatise === null
            ? "The loan does not say how long: 24 h is common practice, no source."
            : "The loan says so."}
        </li>
        <li>Look at the crate and its seals from all sides, and photograph what is wrong.</li>
        <li>
          Wet, mouldy, or a smell of mould: close it again, leave it where it is, and call the lender.
        </li>
      </ul>
      <p class="caution-defer">The rules of the lender and of the house come first.</p>
    </div>`}
    ${text("venue", "Where you are")}
    ${text("crate", "Crate")}
    ${judged("Crate")}
    ${text("seals", "Seal numbers", "As they stand on the seals, with a comma between them.")}
    <${Choice}
      label="Are the seals whole?"
      name="seals_whole"
      fieldKey=${field("seals_whole")}
      options=${optionsOf("seals_whole")}
      value=${check.seals_whole}
      onChange=${(/** @type {LoanCheckRow["seals_whole"]} */ seals_whole) => onChange({ seals_whole })}
    />
    ${judged("Seals")}
    ${isArriving &&
    html`<${NumberField}
      held=${held}
      label="The crate stood closed for"
      unit="h"
      fieldKey=${field("hours_acclimatised")}
      value=${check.hours_acclimatised}
      read=${readHoursClosed}
      onValue=${(/** @type {number | null} */ hours_acclimatised) => onChange({ hours_acclimatised })}
    />
    ${judged("Time in the closed crate")}`}
    ${text("logger", "Data logger", "Its number, and what it shows of the journey: highest, lowest, shocks.")}
    <${NumberField}
      held=${held}
      label="Temperature now"
      unit="°C"
      fieldKey=${field("temperature_c")}
      value=${check.temperature_c}
      read=${readTemperature}
      onValue=${(/** @type {number | null} */ temperature_c) => onChange({ temperature_c })}
    />
    ${judged("Temperature")}
    <${NumberField}
      held=${held}
      label="Relative humidity now"
      unit="%"
      fieldKey=${field("humidity_percent")}
      value=${check.humidity_percent}
      read=${readHumidity}
      onValue=${(/** @type {number | null} */ humidity_percent) => onChange({ humidity_percent })}
    />
    ${judged("Relative humidity")}
    <${Choice}
      label="Glazing"
      name="glazing"
      fieldKey=${field("glazing")}
      options=${optionsOf("glazing")}
      value=${check.glazing}
      onChange=${(/** @type {LoanCheckRow["glazing"]} */ glazing) => onChange({ glazing })}
    />
    ${judged("Glazing")}
    ${(check.glazing === "cracked" || check.glazing === "broken") && html`<${Caution} code="glass" />`}
    <${TextField}
      label="Note"
      multiline
      value=${check.note}
      fieldKey=${field("note")}
      hint="Anything about crate, wrapping or frame that the lender should know."
      onInput=${(/** @type {string} */ note) => onChange({ note })}
    />
    <${Fold} name="Caution: mould"><${Caution} code="mould" /><//>
    <${Fold} name="Caution: handling the sheet"><${Caution} code="handling" /><//>
  </div>`;
}

/** What the list of the loan says, and nobody agreed on. */
const LISTED = ["Crate", "Glazing"];

/** How a thing that was found stands to what was agreed, and what to do if it is otherwise. */
function Judged(
  /** @type {{data: CheckData, name: string}} */ { data: { check, loan, loaned, packed }, name },
) {
  const found = conditionsOf(check, loan, loaned, packed).find((each) => each.name === name && each.found);
  const advice = adviceOn(check, loan)[name];
  return html`<p class="judged" aria-live="polite">
    ${found &&
    html`<span class=${`tag ${found.isOutside ? "alarm" : ""}`}>${found.judged}</span>
      ${found.agreed &&
      html`<span class="soft small">
        ${name === "Seals" ? upperFirst(found.agreed) : LISTED.includes(name) ? `Listed: ${found.agreed}` : `Agreed: ${lowerFirst(found.agreed)}`}
      </span>`}`}
    ${advice && html`<span class="advice">${advice}</span>`}
  </p>`;
}
