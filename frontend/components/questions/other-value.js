/** A third value, when neither of the two is right: given with the control that fits the field. */

import { html, useState } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import {
  readAzimuth,
  readChainLines,
  readDistance,
  readHours,
  readHoursClosed,
  readHumidity,
  readLength,
  readSeconds,
  readSheetSide,
  readTemperature,
  readUncertainty,
  readYear,
} from "../examine/numbers.js";
import { TextField } from "../text-field.js";
import { choicesOf, unitOf } from "./values.js";

/** @import { Question } from "../../store/types.js" */
/** @import { Reading } from "../examine/numbers.js" */

/** @type {Record<string, (text: string) => Reading>} */
const NUMBERS = {
  sheet_width_mm: readSheetSide,
  sheet_height_mm: readSheetSide,
  sheet_uncertainty_mm: readUncertainty,
  azimuth_deg: readAzimuth,
  value: readLength,
  lamp_s: readSeconds,
  width_mm: readLength,
  height_mm: readLength,
  to_left_chain_mm: readDistance,
  to_right_chain_mm: readDistance,
  chain_interval_mm: readLength,
  uncertainty_mm: readUncertainty,
  chains_within: readChainLines,
  repertory_from_year: readYear,
  repertory_to_year: readYear,
  uncertainty: readUncertainty,
  hours: readHours,
  hours_acclimatised: readHoursClosed,
  temperature_c: readTemperature,
  humidity_percent: readHumidity,
};
const LISTS = ["lights", "hazards"];
const YES_OR_NO = ["nothing_seen", "location_confirmed"];
const LONG_WORDS = ["notes", "note", "reason", "logger"];
const WORDS = [
  "mount",
  "place",
  "caption",
  "what",
  "name",
  "signed_name",
  "to_place",
  "motif",
  "letters",
  "repertory",
  "repertory_number",
  "repertory_place",
  "venue",
  "crate",
  "seals",
  "missing",
];

/** Whether a third value can be given for the field; places and shapes are drawn in the record. */
export function takesOther(/** @type {string} */ field) {
  return (
    field in NUMBERS ||
    [...YES_OR_NO, ...LONG_WORDS, ...WORDS].includes(field) ||
    choicesOf(field).length > 0
  );
}

/**
 * @param {object} props
 * @param {Question} props.question
 * @param {Record<string, unknown> | undefined} props.row
 * @param {(value: unknown) => void} props.onGive
 */
export function OtherValue({ question: { id, field }, row, onGive }) {
  const [given, setGiven] = useState(/** @type {any} */ (LISTS.includes(field) ? [] : ""));
  const [problem, setProblem] = useState("");
  const give = () => {
    const reading = read(field, given);
    if (reading.sentence !== undefined) setProblem(reading.sentence);
    else onGive(reading.value);
  };
  const change = (/** @type {any} */ value) => {
    setProblem("");
    setGiven(value);
  };
  const options = YES_OR_NO.includes(field)
    ? [
        { value: "yes", label: "Yes" },
        { value: "no", label: "No" },
      ]
    : choicesOf(field);
  const common = { label: "Another value", value: given, error: problem || null };
  return html`<details class="other-value">
    <summary>Neither: give another value</summary>
    <div class="stack">
      ${options.length > 0
        ? html`<${Choice}
            ...${common}
            name=${`other:${id}`}
            options=${options}
            multiple=${LISTS.includes(field)}
            onChange=${change}
          />`
        : html`<${TextField}
            ...${common}
            multiline=${LONG_WORDS.includes(field)}
            unit=${unitOf(field, row)}
            inputMode=${field in NUMBERS ? "decimal" : undefined}
            fieldKey=${`other:${id}`}
            onInput=${change}
          />`}
      <button type="button" class="button" onClick=${give}>Let this value stand</button>
    </div>
  </details>`;
}

/**
 * @param {string} field
 * @param {any} given  text, a code, or a list of codes
 * @returns {{value: unknown, sentence?: undefined} | {sentence: string}}
 */
function read(field, given) {
  if (given === "") return { sentence: "Give a value first." };
  if (YES_OR_NO.includes(field)) return { value: given === "yes" };
  if (!(field in NUMBERS)) return { value: given };
  const reading = NUMBERS[field](given);
  return reading.sentence ? { sentence: reading.sentence } : { value: reading.value };
}
