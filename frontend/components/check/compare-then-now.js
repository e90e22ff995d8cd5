/** The earlier photograph and the new one, side by side or laid over each other. */

import { html } from "../../vendor/ui.js";
import { Comparing } from "../examine/on-sheet/comparing.js";
import { asPhotograph, nameOf, sheetOf } from "../examine/on-sheet/data.js";
import { termName } from "../examine/words.js";
import { day } from "../wording.js";

/** @import { ObservationRow, PhotographRow } from "../../store/types.js" */
/** @import { Earlier } from "./earlier-pictures.js" */

/**
 * @param {object} props
 * @param {ObservationRow} props.known
 * @param {Earlier} props.earlier
 * @param {PhotographRow} props.now
 * @param {() => void} props.onClose
 */
export function CompareThenNow({ known, earlier: { photograph, examination }, now, onClose }) {
  const then = { ...asPhotograph(photograph), name: `Then, ${day(examination.started_at)}: ${nameOf(photograph)}` };
  const today = { ...asPhotograph(now), name: `Now: ${nameOf(now)}` };
  const place = {
    id: known.id,
    number: 1,
    name: termName(known),
    side: known.side,
    nature: known.nature,
    points: known.region?.points ?? [],
  };
  return html`<${Comparing}
    title=${`${termName(known)}, then and now`}
    onClose=${onClose}
    sheet=${{
      photographs: [then, today],
      observations: [place],
      sheet: sheetOf(examination, [photograph]),
      mode: "two",
    }}
  />`;
}
