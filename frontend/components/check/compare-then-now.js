/** The earlier photograph and the new one, side by side or laid over each other. */

import { html } from "../../vendor/ui.js";
import { asPhotograph, nameOf, sheetOf } from "../examine/on-sheet/data.js";
import { Stage } from "../examine/stage.js";
import { termName } from "../examine/words.js";
import { SheetView } from "../sheet-view/sheet-view.js";
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
  const title = `${termName(known)}, then and now`;
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
  return html`<${Stage} label=${title} onClose=${onClose}>
    <div class="compare">
      <header class="compare-head">
        <h2>${title}</h2>
        <button type="button" class="button" onClick=${onClose}>Close</button>
      </header>
      <${SheetView}
        photographs=${[then, today]}
        observations=${[place]}
        sheet=${sheetOf(examination, [photograph])}
        mode="two"
      />
    </div>
  <//>`;
}
