/** What is drawn on a photograph of a report: outlines, rings, numbers and a scale. */

import { apply, inverse, mirrored, mmPerPixel } from "../../imaging/geometry.js";
import { isOnSheet } from "../examine/words.js";
import { barLength, boundsOf } from "../sheet-view/view.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */
/** @import { PhotographRow } from "../../store/types.js" */
/** @import { Seen, State } from "./data.js" */

/** @typedef {{width_px: number, height_px: number}} Size  of the upright picture */

/**
 * points    in pixels of the upright picture: an outline, or the one point of a ring
 * isBehind  it lies on the other side, and is drawn as seen through the sheet
 * @typedef {{number: number, points: Point[], isBehind: boolean}} Shape
 *
 * The number of a shape, or of several that lie too close for one each; where it stands, as shares
 * of the picture, and whether above that place or below.
 * @typedef {{text: string, x: number, y: number, isAbove: boolean}} Label
 */

/** Numbers closer than this share of the picture's width stand together. */
const TOGETHER = 0.05;
/** The longest scale, as a share of the picture's width. */
const SCALE_SHARE = 0.4;

/** @param {PhotographRow} photograph @param {Size} size @param {State} state @returns {Shape[]} */
export function shapesOn(photograph, size, { seen, sheet }) {
  const matrix = photograph.homography && isOnSheet(photograph) ? inverse(photograph.homography) : null;
  return seen.flatMap((each) => {
    const placed = matrix && placedOn(photograph, matrix, each, sheet);
    if (placed) return [{ number: each.number, ...placed }];
    const { mark } = each.observation;
    if (mark?.photograph !== photograph.id) return [];
    const at = /** @type {Point} */ ([mark.x * size.width_px, mark.y * size.height_px]);
    return [{ number: each.number, points: [at], isBehind: false }];
  });
}

/**
 * @param {PhotographRow} photograph @param {Matrix} matrix  sheet mm to its pixels
 * @param {Seen} seen @param {State["sheet"]} sheet
 * @returns {{points: Point[], isBehind: boolean} | null}
 */
function placedOn(photograph, matrix, { side, places }, sheet) {
  if (places.length === 0) return null;
  if (side === photograph.side) return { points: places.map((at) => apply(matrix, at)), isBehind: false };
  // Against the light the other side is seen through the sheet, mirrored.
  if (photograph.light !== "transmitted" || !sheet) return null;
  return { points: places.map((at) => apply(matrix, mirrored(at, sheet.width_mm))), isBehind: true };
}

/** @param {Shape[]} shapes @param {Size} size @returns {Label[]} */
export function labelsOf(shapes, { width_px, height_px }) {
  // What is seen through the sheet is told apart from what lies on top.
  return [false, true].flatMap((isBehind) => {
    /** @type {{top: Point, isRing: boolean, numbers: number[]}[]} */
    const groups = [];
    for (const { number, points } of shapes.filter((shape) => shape.isBehind === isBehind)) {
      const top = points.reduce((highest, at) => (at[1] < highest[1] ? at : highest));
      const near = groups.find((group) => Math.hypot(group.top[0] - top[0], group.top[1] - top[1]) < TOGETHER * width_px);
      if (near) near.numbers.push(number);
      else groups.push({ top, isRing: points.length === 1, numbers: [number] });
    }
    return groups.map(({ top, numbers }) => {
      const [x, y] = [within(top[0] / width_px), within(top[1] / height_px)];
      return { text: numbers.join(", "), x, y, isAbove: y > 0.08 };
    });
  });
}

/** @param {number} share */
function within(share) {
  return Math.min(0.98, Math.max(0.02, share));
}

/**
 * The longest round length that fits, as it is in the middle of the sheet; where that is not
 * known, in the middle of the picture.
 *
 * @param {PhotographRow} photograph @param {Size} size @param {State["sheet"]} sheet
 * @returns {{mm: number, share: number} | null}  null when it is not placed
 */
export function scaleOf(photograph, { width_px, height_px }, sheet) {
  const { homography } = photograph;
  if (!homography) return null;
  const middle = /** @type {Point} */ (
    sheet && isOnSheet(photograph)
      ? apply(inverse(homography), [sheet.width_mm / 2, sheet.height_mm / 2])
      : [width_px / 2, height_px / 2]
  );
  return scaleAt(homography, middle, width_px);
}

/**
 * @param {Matrix} homography @param {Point} middle  the pixel at which it holds
 * @param {number} width_px  of what it stands below
 */
export function scaleAt(homography, middle, width_px) {
  const pxPerMm = 1 / mmPerPixel(homography, middle);
  const mm = barLength(pxPerMm, SCALE_SHARE * width_px);
  return { mm, share: (mm * pxPerMm) / width_px };
}

/** The shape of a detail on the page. */
const DETAIL_ASPECT = 75 / 42;
/** How much of a detail its observation takes at most, and of the photograph a detail shows at least:
 * a ring says nothing of how large a thing is. */
const FILLED = 0.6;
const LEAST_SHARE = 0.24;

/** @typedef {{x: number, y: number, width: number, height: number}} Box  in pixels of the upright picture */

/**
 * The part of a photograph that shows a place with something round it.
 *
 * @param {Point[]} points @param {Size} size @returns {Box}
 */
export function boxAround(points, { width_px, height_px }) {
  const { left, right, top, bottom } = boundsOf(points);
  const least = LEAST_SHARE * Math.max(width_px, height_px);
  const wide = Math.max((right - left) / FILLED, ((bottom - top) / FILLED) * DETAIL_ASPECT, least);
  const width = Math.min(width_px, wide);
  const height = Math.min(height_px, wide / DETAIL_ASPECT);
  const start = (/** @type {number} */ middle, /** @type {number} */ length, /** @type {number} */ all) =>
    Math.round(Math.min(all - length, Math.max(0, middle - length / 2)));
  return {
    x: start((left + right) / 2, width, width_px),
    y: start((top + bottom) / 2, height, height_px),
    width: Math.round(width),
    height: Math.round(height),
  };
}

/** Shapes as they lie in a part of the photograph. @param {Shape[]} shapes @param {Box} box @returns {Shape[]} */
export function shapesIn(shapes, { x, y }) {
  return shapes.map((shape) => ({
    ...shape,
    points: shape.points.map(([px, py]) => /** @type {Point} */ ([px - x, py - y])),
  }));
}

/**
 * Which photograph of a state shows a numbered observation best, for a detail of it.
 *
 * @param {State} state @param {number} number
 * @param {{wanted?: string | null, light: string}} choice  key of the photograph that was taken of
 *   it, drawn on or not; the light to prefer, so that two states are seen alike
 * @returns {PhotographRow | null}
 */
export function shownBest(state, number, { wanted, light }) {
  const named = state.photographs.find(({ id }) => id === wanted);
  if (named) return named;
  const size = { width_px: 1, height_px: 1 };
  const drawn = state.photographs.flatMap((row) => {
    const shape = shapesOn(row, size, state).find((each) => each.number === number);
    return shape ? [{ row, isBehind: shape.isBehind }] : [];
  });
  const order = (/** @type {typeof drawn[number]} */ { row, isBehind }) => Number(row.light !== light) + 2 * Number(isBehind);
  drawn.sort((a, b) => order(a) - order(b));
  return drawn[0]?.row ?? null;
}
