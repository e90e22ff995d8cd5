/**
 * Which part of the sheet a pane shows: pure numbers, in millimetres of the sheet and CSS pixels
 * of the pane.
 */

import { apply, inverse } from "../../imaging/geometry.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */

/**
 * What lies in the pane's middle, in mm, and how many CSS pixels a millimetre has. Panes of
 * different sizes that share a view show the same place equally large.
 * @typedef {{x: number, y: number, scale: number}} View
 * @typedef {{width: number, height: number}} Size
 * @typedef {{left: number, top: number, right: number, bottom: number}} Bounds
 */

/** So many times larger than the whole, and so many times smaller, one can go. */
const LARGEST = 60;
const SMALLEST = 0.5;
/** Left free about what is fitted, as a share of the pane. */
const MARGIN = 0.04;

/** @param {Bounds} bounds @param {Size} pane @param {number} [foot]  CSS pixels left free below @returns {View} */
export function fitted(bounds, pane, foot = 0) {
  const scale = scaleOfWhole(bounds, { ...pane, height: pane.height - foot });
  return {
    x: (bounds.left + bounds.right) / 2,
    y: (bounds.top + bounds.bottom) / 2 + foot / 2 / scale,
    scale,
  };
}

/** @param {Bounds} bounds @param {Size} pane */
function scaleOfWhole(bounds, pane) {
  const share = 1 - 2 * MARGIN;
  return Math.max(
    1e-6,
    Math.min(
      (pane.width * share) / (bounds.right - bounds.left),
      (pane.height * share) / (bounds.bottom - bounds.top),
    ),
  );
}

/** Millimetres to CSS pixels of the pane. @param {View} view @param {Size} pane @returns {Matrix} */
export function matrixOf({ x, y, scale }, { width, height }) {
  return [scale, 0, width / 2 - scale * x, 0, scale, height / 2 - scale * y, 0, 0, 1];
}

/** @param {View} view @param {Size} pane @param {Point} pixel  of the pane @returns {Point}  mm */
export function placeAt(view, pane, pixel) {
  return apply(inverse(matrixOf(view, pane)), pixel);
}

/**
 * Enlarged, with the place under a pixel of the pane kept there.
 *
 * @param {View} view @param {Size} pane @param {Bounds} bounds @param {number} factor @param {Point} at
 * @returns {View}
 */
export function zoomed(view, pane, bounds, factor, at) {
  const whole = scaleOfWhole(bounds, pane);
  const scale = Math.min(LARGEST * whole, Math.max(SMALLEST * whole, view.scale * factor));
  const [x, y] = placeAt(view, pane, at);
  const moved = {
    x: x - (at[0] - pane.width / 2) / scale,
    y: y - (at[1] - pane.height / 2) / scale,
    scale,
  };
  return kept(moved, bounds);
}

/** @param {View} view @param {Bounds} bounds @param {number} dx  CSS pixels @param {number} dy @returns {View} */
export function moved(view, bounds, dx, dy) {
  return kept({ ...view, x: view.x - dx / view.scale, y: view.y - dy / view.scale }, bounds);
}

/** With its middle on the sheet, so that one does not lose it. @param {View} view @param {Bounds} bounds */
function kept(view, bounds) {
  return {
    ...view,
    x: Math.min(bounds.right, Math.max(bounds.left, view.x)),
    y: Math.min(bounds.bottom, Math.max(bounds.top, view.y)),
  };
}

/** The smallest bounds about points. @param {Point[]} points @returns {Bounds} */
export function boundsOf(points) {
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return {
    left: Math.min(...xs),
    top: Math.min(...ys),
    right: Math.max(...xs),
    bottom: Math.max(...ys),
  };
}

/** A matrix as a CSS transform, for an element whose origin is its top left. @param {Matrix} m */
export function transformOf(m) {
  const [a, b, c, d, e, f, g, h, i] = m.map((value) => value / m[8]);
  return `matrix3d(${[a, d, 0, g, b, e, 0, h, 0, 0, 1, 0, c, f, 0, i].join(",")})`;
}

/**
 * A round length for a scale bar that is at most so wide, in mm: 1, 2 or 5 times a power of ten.
 *
 * @param {number} scale  CSS pixels a millimetre @param {number} widest  CSS pixels
 */
export function barLength(scale, widest) {
  const most = widest / scale;
  const ten = 10 ** Math.floor(Math.log10(most));
  return ten * ([5, 2, 1].find((step) => step * ten <= most) ?? 1);
}

/** A length of a scale bar in words. @param {number} mm */
export function barWords(mm) {
  if (mm >= 1000) return `${mm / 1000} m`;
  return mm < 1 ? `${Math.round(mm * 1000)} µm` : `${mm} mm`;
}
