/** A known point on the photograph of its time: its place enlarged and outlined, or the whole sheet. */

import { apply, inverse } from "../../imaging/geometry.js";
import { html, useMemo, useState } from "../../vendor/ui.js";
import { asPhotograph, sheetOf } from "../examine/on-sheet/data.js";
import { isOnSheet, termName } from "../examine/words.js";
import { Pane } from "../sheet-view/pane.js";
import { openPictures } from "../sheet-view/pictures.js";
import { boundsOf } from "../sheet-view/view.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */
/** @import { ObservationRow } from "../../store/types.js" */
/** @import { Outline } from "../sheet-view/outlines.js" */
/** @import { Bounds, View } from "../sheet-view/view.js" */
/** @import { Earlier } from "./earlier-pictures.js" */

/** Left about a place so that one sees where on the sheet it lies, as a share of its larger side. */
const ROUND_ABOUT = 0.6;
/** A place is never shown so close that less than this of the sheet is seen, as a share of it. */
const LEAST_SHARE = 0.2;
/** Bounds that lie no further apart are the same: the rest is of the reckoning. */
const ALIKE_MM = 1e-6;
const SIDES = /** @type {const} */ (["left", "top", "right", "bottom"]);
/** Before the size of a photograph is known, px. */
const UNKNOWN_PX = { width_px: 1600, height_px: 1200 };

/** @param {{known: ObservationRow, earlier: Earlier}} props */
export function EarlierPicture({ known, earlier: { photograph, examination } }) {
  const pictures = useMemo(() => openPictures(), []);
  const shown = useMemo(() => asPhotograph(photograph), [photograph.id, photograph.homography]);
  const [view, setView] = useState(/** @type {View | null} */ (null));
  const [isWhole, setIsWhole] = useState(false);
  const [size, setSize] = useState({
    width_px: photograph.width_px ?? UNKNOWN_PX.width_px,
    height_px: photograph.height_px ?? UNKNOWN_PX.height_px,
  });
  const isPlaced = isOnSheet(photograph);
  const toMm = isPlaced ? /** @type {Matrix} */ (photograph.homography) : byItsEdges(size);
  const whole = wholeOf(isPlaced ? sheetOf(examination, [photograph]) : null, toMm, size);
  const place = placeOn(known, photograph, isPlaced, toMm, size);
  const near = place.length ? nearTo(place, whole) : whole;
  // What lies all over the sheet is shown on the whole of it, and there is nothing to change to.
  const isOfWhole = SIDES.every((side) => Math.abs(near[side] - whole[side]) < ALIKE_MM);
  /** @type {Outline[]} */
  const outlines = place.length
    ? [{ id: known.id, number: "", name: termName(known), nature: known.nature, points: place, strong: true }]
    : [];
  const turn = (/** @type {boolean} */ to) => {
    setIsWhole(to);
    setView(null);
  };
  return html`<div class="earlier-picture">
    <${Pane}
      key=${`${photograph.id} ${isWhole}`}
      label=${`${shown.name}, as it was. Arrow keys move, plus and minus enlarge.`}
      words=${place.length ? [] : [whyNoPlace(known, photograph)]}
      layers=${[{ photograph: shown, toMm: () => toMm }]}
      outlines=${outlines}
      view=${view}
      onView=${setView}
      bounds=${isWhole ? whole : near}
      pictures=${pictures}
      hasScale=${isPlaced}
      onLoad=${(/** @type {import("../sheet-view/pictures.js").Rendition | null} */ rendition) =>
        rendition && setSize({ width_px: rendition.width_px, height_px: rendition.height_px })}
    />
    ${!isOfWhole &&
    html`<button
      type="button"
      class="button earlier-whole"
      aria-pressed=${isWhole}
      onClick=${() => turn(!isWhole)}
    >
      ${isWhole ? "The place" : "Whole sheet"}
    </button>`}
  </div>`;
}

/** @param {ObservationRow} known @param {Earlier["photograph"]} photograph */
function whyNoPlace({ side }, photograph) {
  return side === photograph.side
    ? "Its place is not drawn on this photograph."
    : `This is the ${photograph.side}; the point is on the ${side}.`;
}

/**
 * One that is not placed lies by its own edges, its longer side 100 of no unit.
 *
 * @param {{width_px: number, height_px: number}} size
 * @returns {Matrix}
 */
function byItsEdges({ width_px, height_px }) {
  const scale = 100 / Math.max(width_px, height_px);
  return [scale, 0, 0, 0, scale, 0, 0, 0, 1];
}

/**
 * @param {{width_mm: number, height_mm: number} | null} sheet
 * @param {Matrix} toMm
 * @param {{width_px: number, height_px: number}} size
 * @returns {Bounds}
 */
function wholeOf(sheet, toMm, { width_px, height_px }) {
  if (sheet) return { left: 0, top: 0, right: sheet.width_mm, bottom: sheet.height_mm };
  /** @type {Point[]} */
  const corners = [[0, 0], [width_px, 0], [width_px, height_px], [0, height_px]];
  return boundsOf(corners.map((at) => apply(toMm, at)));
}

/**
 * Its outline or its mark, where this photograph can show it; else nothing.
 *
 * @param {ObservationRow} known
 * @param {Earlier["photograph"]} photograph
 * @param {boolean} isPlaced
 * @param {Matrix} toMm
 * @param {{width_px: number, height_px: number}} size
 * @returns {Point[]}
 */
function placeOn({ region, mark, side }, photograph, isPlaced, toMm, { width_px, height_px }) {
  if (region && isPlaced && side === photograph.side) return region.points;
  if (mark?.photograph !== photograph.id) return [];
  return [apply(toMm, [mark.x * width_px, mark.y * height_px])];
}

/**
 * Where the point lies on the photograph, in pixels of the upright picture; nothing where the
 * photograph cannot show it.
 *
 * @param {ObservationRow} known
 * @param {Earlier["photograph"]} photograph
 * @returns {(size: {width_px: number, height_px: number}) => Point[]}  for the size of that picture
 */
export function placeInPixels(known, photograph) {
  return (size) => {
    const isPlaced = isOnSheet(photograph);
    const toMm = isPlaced ? /** @type {Matrix} */ (photograph.homography) : byItsEdges(size);
    const back = inverse(toMm);
    return placeOn(known, photograph, isPlaced, toMm, size).map((at) => apply(back, at));
  };
}

/**
 * The place with its surroundings: never more than the whole, and nothing beyond its edges.
 *
 * @param {Point[]} place @param {Bounds} whole @returns {Bounds}
 */
export function nearTo(place, whole) {
  const { left, top, right, bottom } = boundsOf(place);
  const [wide, high] = [whole.right - whole.left, whole.bottom - whole.top];
  const side = Math.max(
    (1 + 2 * ROUND_ABOUT) * Math.max(right - left, bottom - top),
    LEAST_SHARE * Math.max(wide, high),
  );
  const [width, height] = [Math.min(side, wide), Math.min(side, high)];
  const x = within((left + right - width) / 2, whole.left, whole.right - width);
  const y = within((top + bottom - height) / 2, whole.top, whole.bottom - height);
  return { left: x, top: y, right: x + width, bottom: y + height };
}

/** @param {number} value @param {number} least @param {number} most */
function within(value, least, most) {
  return Math.min(Math.max(value, least), most);
}
