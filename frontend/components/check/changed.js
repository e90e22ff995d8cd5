/** What changed: in words, and how it stands now. */

import { html } from "../../vendor/ui.js";
import { SeverityAndExtent } from "../examine/severity-and-extent.js";
import { TextField } from "../text-field.js";
import { named, upperFirst } from "../wording.js";

/** @import { ObservationRow } from "../../store/types.js" */
/** @import { Held } from "../examine/held.js" */
/** @import { Point } from "./data.js" */

/** @param {{held: Held, point: Point, onReason: (words: string) => void}} props */
export function Changed({ held, point: { known, now, answer }, onReason }) {
  const own = held.observations.value.find((row) => row.id === now?.id);
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
    html`<${SeverityAndExtent}
      observation=${own}
      field=${(/** @type {string} */ part) => `now:${known.id}:${part}`}
      onChange=${(/** @type {Partial<ObservationRow>} */ fields) => held.change("observation", own.id, fields)}
      severityLabel=${nowOf("severity", known.severity)}
      extentLabel=${nowOf("extent", known.extent)}
    />`}
  </div>`;
}

/** "Extent now (it was local)". @param {"severity" | "extent"} part @param {string} before */
function nowOf(part, before) {
  const label = `${upperFirst(part)} now`;
  return before ? `${label} (it was ${named(part, before).toLowerCase()})` : label;
}
