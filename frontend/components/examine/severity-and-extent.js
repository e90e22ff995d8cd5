/** How bad an observation is, in the anchors of its term, and how much of the sheet it takes up. */

import { term as termOf } from "../../store/vocabulary.js";
import { Fragment, html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { optionsOf } from "../wording.js";

/** @import { ObservationRow } from "../../store/types.js" */

/**
 * A feature has no severity, and a term without anchors none either.
 *
 * @param {object} props
 * @param {ObservationRow} props.observation
 * @param {(part: string) => string} props.field  the key of one of its fields
 * @param {(fields: Partial<ObservationRow>) => void} props.onChange
 * @param {string} [props.severityLabel]
 * @param {string} [props.extentLabel]
 */
export function SeverityAndExtent({
  observation,
  field,
  onChange,
  severityLabel = "Severity",
  extentLabel = "Extent",
}) {
  const anchors = termOf(observation.term)?.anchors ?? {};
  const hasSeverity = observation.nature !== "feature" && Object.keys(anchors).length > 0;
  return html`<${Fragment}>
    ${hasSeverity &&
    html`<${Choice}
      label=${severityLabel}
      name=${field("severity")}
      fieldKey=${field("severity")}
      shape="list"
      options=${optionsOf("severity").map((option) => ({
        ...option,
        hint: anchors[/** @type {keyof typeof anchors} */ (option.value)],
      }))}
      value=${observation.severity}
      onChange=${(/** @type {ObservationRow["severity"]} */ severity) => onChange({ severity })}
    />`}
    <${Choice}
      label=${extentLabel}
      name=${field("extent")}
      fieldKey=${field("extent")}
      options=${optionsOf("extent")}
      value=${observation.extent}
      onChange=${(/** @type {ObservationRow["extent"]} */ extent) => onChange({ extent })}
    />
  <//>`;
}
