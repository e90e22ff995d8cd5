/** Where a photograph lies on the sheet, and what that allows: to measure, to outline, to compare. */

import { html } from "../../../vendor/ui.js";
import { Notice } from "../../notice.js";
import { lowerFirst, sheetSize } from "../../wording.js";
import { short } from "../figures.js";
import { RemoveButton } from "../remove-button.js";
import { isOnSheet } from "../words.js";
import { nameOf } from "./data.js";
import { Measured } from "./measured.js";

/** @import { ExaminationRow, PhotographRow } from "../../../store/types.js" */
/** @import { Held, Task } from "../held.js" */

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph
 * @param {(task: Task) => void} props.onTask
 */
export function OnSheet({ held, photograph, onTask }) {
  const examination = /** @type {ExaminationRow} */ (held.examination.value);
  const { placing } = photograph;
  const placed = photograph.homography !== null;
  const others = offered(photograph, held.photographs.value);
  const { sheet_width_mm: width, sheet_height_mm: height } = examination;
  const isOfOtherSize =
    placing?.kind === "corners" && width && height && (placing.size_mm[0] !== width || placing.size_mm[1] !== height);

  return html`<section class="on-sheet stack" aria-labelledby="on-sheet">
    <h3 id="on-sheet">On the sheet</h3>
    ${placed
      ? html`<p>
          ${wayInWords(photograph, held.photographs.value)}
          ${placing &&
          ` One pixel is ${short(placing.mm_per_px)}; a place is sure to ± ${short(placing.uncertainty_mm)}.`}
        </p>`
      : html`<p>
          This photograph is not placed on the sheet yet. Once it is, one can measure on it, outline
          what shows, and lay it over the other lights.
        </p>`}
    ${isOfOtherSize &&
    html`<${Notice}>
      <p>
        It was placed when the sheet’s size was ${sheetSize(placing.size_mm[1], placing.size_mm[0])}.
        Look at the corners and keep them again with the size of now.
      </p>
    <//>`}
    ${placed &&
    !isOnSheet(photograph) &&
    html`<p class="small">A scale does not tell where the sheet lies: set its corners to outline what shows.</p>`}
    <div class="row">
      ${placed &&
      html`<button type="button" class="button" onClick=${() => onTask({ do: "measure" })}>
        Measure on it
      </button>`}
      <button type="button" class="button" onClick=${() => onTask({ do: "corners" })}>
        ${placing?.kind === "corners" ? "Move the sheet’s corners" : "Set the sheet’s corners"}
      </button>
      ${!isOnSheet(photograph) &&
      others.map(
        (other) => html`<button
          type="button"
          class="button"
          key=${other.id}
          onClick=${() => onTask({ do: "corners", from: other.id })}
        >
          Same as ${lowerFirst(nameOf(other))}
        </button>`,
      )}
      ${!placed &&
      html`<button type="button" class="button" onClick=${() => onTask({ do: "scale" })}>
        Use the scale
      </button>`}
    </div>
    <${Measured} held=${held} photograph=${photograph} />
    ${placed &&
    html`<${RemoveButton}
      label="Take the placing away"
      question="Take the placing of this photograph away? What was measured and outlined on it stays."
      onRemove=${() => held.change("photograph", photograph.id, { homography: null, placing: null })}
    />`}
  </section>`;
}

/** How many photographs are offered whose corners may be the same. */
const MOST_OFFERED = 2;

/** Placed photographs of the same side and size: the camera may have stood still. */
function offered(/** @type {PhotographRow} */ photograph, /** @type {PhotographRow[]} */ photographs) {
  return photographs
    .filter(
      (each) =>
        each.id !== photograph.id &&
        isOnSheet(each) &&
        each.side === photograph.side &&
        each.width_px === photograph.width_px &&
        each.height_px === photograph.height_px,
    )
    .slice(0, MOST_OFFERED);
}

function wayInWords(/** @type {PhotographRow} */ { placing }, /** @type {PhotographRow[]} */ photographs) {
  if (placing?.kind === "scale") return `Its size is known by a scale of ${placing.size_mm[0]} mm.`;
  if (placing?.kind !== "aligned") return "It is placed by the sheet’s corners.";
  const other = photographs.find(({ id }) => id === placing.photograph);
  return other
    ? `It is placed like ${lowerFirst(nameOf(other))}.`
    : "It was placed like a photograph that is no longer here.";
}
