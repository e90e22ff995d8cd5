/** The photographs of one examination, looked at together over the whole screen. */

import { html } from "../../../vendor/ui.js";
import { Comparing } from "./comparing.js";
import { sheetData } from "./data.js";

/** @import { ExaminationRow, MeasurementRow, ObservationRow, PhotographRow } from "../../../store/types.js" */

/** Those of the examination in hand. @param {{held: import("../held.js").Held}} props */
export function CompareHeld({ held }) {
  const of = {
    examination: /** @type {ExaminationRow} */ (held.examination.value),
    photographs: held.photographs.value,
    observations: held.observations.value,
    measurements: held.measurements.value,
  };
  return html`<${CompareRead} of=${of} onClose=${() => (held.view.comparing.value = false)} />`;
}

/**
 * Those of an examination that is only read.
 *
 * @param {object} props
 * @param {{examination: ExaminationRow, photographs: PhotographRow[],
 *   observations: ObservationRow[], measurements: MeasurementRow[]}} props.of
 * @param {() => void} props.onClose
 */
export function CompareRead({ of, onClose }) {
  return html`<${Comparing}
    title="The sheet under its lights"
    onClose=${onClose}
    sheet=${sheetData(of)}
  />`;
}
