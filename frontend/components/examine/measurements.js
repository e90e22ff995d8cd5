/** What was measured, with a ruler or on a photograph, and one by ruler being written. */

import { html } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";
import { inWords } from "./figures.js";
import { Fold } from "./fold.js";
import { readLength, readUncertainty, RULER_UNCERTAINTY_MM } from "./numbers.js";
import { RemoveButton } from "./remove-button.js";

/** @param {{held: import("./held.js").Held, observation: import("../../store/types.js").ObservationRow}} props */
export function Measurements({ held, observation }) {
  const taken = held.measurements.value.filter((each) => each.observation === observation.id);
  const key = (/** @type {string} */ part) => `measurement:${observation.id}:${part}`;
  const text = (/** @type {string} */ part) => held.drafts.value[key(part)] ?? "";
  const keep = (/** @type {string} */ part) => (/** @type {string} */ typed) =>
    held.draft(key(part), typed === "" ? null : typed);

  const length = readLength(text("value"));
  const uncertainty = readUncertainty(text("uncertainty"));
  const complete = text("what").trim() && typeof length.value === "number" && !uncertainty.sentence;

  const add = async () => {
    const measurement = await held.add("measurement", {
      observation: observation.id,
      what: text("what").trim(),
      value: length.value,
      uncertainty: uncertainty.value ?? RULER_UNCERTAINTY_MM,
    });
    if (!measurement) return;
    for (const part of ["what", "value", "uncertainty"]) held.draft(key(part), null);
  };

  return html`<div>
    <h4>Measurements</h4>
    <${Taken} held=${held} measurements=${taken} />
    <${Fold} name="Add one taken with a ruler" open=${text("what") !== "" || text("value") !== ""}>
      <${TextField}
        label="What is measured"
        value=${text("what")}
        fieldKey=${key("what")}
        hint="For example: length of the tear."
        onInput=${keep("what")}
      />
      <p class="soft small">
        The uncertainty is taken as ${RULER_UNCERTAINTY_MM} mm, as for a ruler, when it is left
        empty.
      </p>
      <div class="number-fields">
        <${TextField}
          label="Length"
          unit="mm"
          inputMode="decimal"
          value=${text("value")}
          fieldKey=${key("value")}
          error=${length.sentence}
          onInput=${keep("value")}
        />
        <${TextField}
          label="Uncertainty, ±"
          unit="mm"
          inputMode="decimal"
          value=${text("uncertainty")}
          fieldKey=${key("uncertainty")}
          error=${uncertainty.sentence}
          onInput=${keep("uncertainty")}
        />
      </div>
      <button type="button" class="button" disabled=${!complete} onClick=${add}>
        Add the measurement
      </button>
    <//>
  </div>`;
}

/**
 * Measurements to read and to take away.
 *
 * @param {{held: import("./held.js").Held, measurements: import("../../store/types.js").MeasurementRow[]}} props
 */
export function Taken({ held, measurements }) {
  if (measurements.length === 0) return null;
  return html`<ul class="measurements">
    ${measurements.map(
      (each) => html`<li key=${each.id}>
        <span class="numeral">
          ${inWords(each)}${each.photograph && html`<span class="soft small"> on a photograph</span>`}
        </span>
        <${RemoveButton}
          label="Remove"
          question=${`Remove “${each.what}”?`}
          onRemove=${() => held.take("measurement", each.id)}
        />
      </li>`,
    )}
  </ul>`;
}
