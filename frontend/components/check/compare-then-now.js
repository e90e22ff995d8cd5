/** The earlier photograph and the new one: side by side, laid over each other, or in turn. */

import { html } from "../../vendor/ui.js";
import { Comparing } from "../examine/on-sheet/comparing.js";
import { asPhotograph, nameOf, sheetOf } from "../examine/on-sheet/data.js";
import { isOnSheet, termName } from "../examine/words.js";
import { day } from "../wording.js";

/** @import { ObservationRow, PhotographRow } from "../../store/types.js" */
/** @import { Earlier } from "./earlier-pictures.js" */

/**
 * @param {object} props
 * @param {ObservationRow} props.known
 * @param {Earlier} props.earlier
 * @param {PhotographRow} props.now
 * @param {() => void} props.onPlace  to set the corners of the new one
 * @param {() => void} props.onClose
 */
export function CompareThenNow({ known, earlier: { photograph, examination }, now, onPlace, onClose }) {
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
    note=${noteOf(photograph, now, onPlace)}
    sheet=${{
      photographs: [then, today],
      observations: [place],
      sheet: sheetOf(examination, [photograph]),
      mode: "two",
    }}
  />`;
}

/**
 * Why the two do not lie on each other, and what can be done about it.
 *
 * @param {PhotographRow} then @param {PhotographRow} now @param {() => void} onPlace
 */
function noteOf(then, now, onPlace) {
  const trouble = whyByEdges(then, now);
  if (!trouble) return null;
  return html`<p>${trouble}</p>
    ${isOnSheet(then) && html`<button type="button" class="button" onClick=${onPlace}>Set the corners</button>`}`;
}

/** "" where both lie on the sheet. @param {PhotographRow} then @param {PhotographRow} now */
export function whyByEdges(then, now) {
  const which = !isOnSheet(then) ? "earlier" : !isOnSheet(now) ? "new" : "";
  return which && `The ${which} photograph is not placed on the sheet, so the two lie by their edges only.`;
}
