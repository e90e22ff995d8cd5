/** A field for a number. What cannot be read stays in the field and is kept as a draft. */

import { html } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {string} props.label
 * @param {string} props.unit
 * @param {string} props.fieldKey  names the draft too
 * @param {number | null} props.value  as recorded
 * @param {(text: string) => import("./numbers.js").Reading} props.read
 * @param {(value: number | null) => void} props.onValue  null when the field is empty or its
 *   text is refused, so that half a number never stands in the record
 * @param {string} [props.hint]
 */
export function NumberField({ held, label, unit, fieldKey, value, read, onValue, hint }) {
  const draft = held.drafts.value[fieldKey];
  const take = (/** @type {string} */ text) => {
    const reading = read(text);
    held.draft(fieldKey, reading.sentence ? text : null);
    onValue(reading.value ?? null);
  };
  return html`<${TextField}
    label=${label}
    unit=${unit}
    inputMode="decimal"
    fieldKey=${fieldKey}
    value=${draft ?? value}
    error=${draft === undefined ? null : read(draft).sentence}
    hint=${hint}
    onInput=${take}
  />`;
}
