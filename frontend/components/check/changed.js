/** What changed: in words, and how it stands now. */

import { term as termOf } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { TextField } from "../text-field.js";
import { named, optionsOf } from "../wording.js";

/** @import { ObservationRow } from "../../store/types.js" */
/** @import { Held } from "../examine/held.js" */
/** @import { Point } from "./data.js" */

/** @param {{held: Held, point: Point, onReason: (words: string) => void}} props */
export function Changed({ held, point: { known, now, answer }, onReason }) {
  const anchors = termOf(known.term)?.anchors ?? {};
  const own = held.observations.value.find((row) => row.id === now?.id);
  const change = (/** @type {Partial<ObservationRow>} */ fields) =>
    own && held.change("observation", own.id, fields);
  const field = (/** @type {string} */ part) => `now:${known.id}:${part}`;
  return html`<div class="inset stack" data-part="reason">
    <${TextField}
      label="What changed?"
      multiline
      value=${answer?.reason ?? ""}
      fieldKey="reason"
      hint="A few words are needed, for example: 4 mm longer, and now open at its end."
      onInput=${onReason}
    />
    ${own &&
    own.nature !== "feature" &&
    Object.keys(anchors).length > 0 &&
    html`<${Choice}
      label=${`Severity now${known.severity ? ` (it was ${named("severity", known.severity).toLowerCase()})` : ""}`}
      name=${field("severity")}
      fieldKey=${field("severity")}
      shape="list"
      options=${optionsOf("severity").map((option) => ({
        ...option,
        hint: anchors[/** @type {keyof typeof anchors} */ (option.value)],
      }))}
      value=${own.severity}
      onChange=${(/** @type {ObservationRow["severity"]} */ severity) => change({ severity })}
    />`}
    ${own &&
    html`<${Choice}
      label=${`Extent now${known.extent ? ` (it was ${named("extent", known.extent).toLowerCase()})` : ""}`}
      name=${field("extent")}
      fieldKey=${field("extent")}
      options=${optionsOf("extent")}
      value=${own.extent}
      onChange=${(/** @type {ObservationRow["extent"]} */ extent) => change({ extent })}
    />`}
  </div>`;
}
