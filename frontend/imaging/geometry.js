/**
 * Where a picture's pixels lie on the sheet, in millimetres, and what is measured there.
 *
 * Pixels are those of the upright picture at full size, edges at whole numbers: the middle of the
 * first one is (0.5, 0.5). Millimetres run from the top left of the side that is seen, x right, y
 * down. A matrix is nine numbers, row by row. All uncertainties are
 * standard ones, carried to first order (JCGM 100:2008, 5.2.2). The server computes the same in
 * survey/imaging/geometry.py.
 */

/** @import { Placing } from "../store/types.js" */

/**
 * @typedef {[number, number]} Point
 * @typedef {number[]} Matrix
 * @typedef {{width_px: number, height_px: number}} Picture
 *
 * matrix          pixels to millimetres
 * mm_per_px       in the middle of what was tapped
 * uncertainty_mm  of a place in x or in y, root mean square over the sheet
 * caution         a sentence that the person should read, or ""
 * warp            8 × 8: covariance of the errors of the whole field of places, see `field`
 * tap_px          standard uncertainty of one tap, in each coordinate
 * @typedef {{
 *   matrix: Matrix,
 *   mm_per_px: number,
 *   uncertainty_mm: number,
 *   caution: string,
 *   warp: number[][],
 *   tap_px: number,
 * }} Placed
 *
 * @typedef {{value: number, uncertainty: number}} Measured
 */

/** Points that cannot be what they are said to be; the message says what to do. */
export class WrongPoints extends Error {}

export const CORNERS = ["top left corner", "top right corner", "bottom right corner", "bottom left corner"];
export const ENDS = ["first end", "second end"];

/** How far a tap misses what was meant, in pixels of the screen. Common practice, no source. */
const TAP_PX = 2;
/** A magnified picture helps only so far: edges of paper are no sharper than this. */
const FINEST_TAP_PX = 0.5;
/** Two taps nearer than this many times the error of one tell nothing. */
const NEAREST_TAPS = 10;
/** A corner flatter than this is no corner. */
const LEAST_SINE = 0.03;
/** How far from square above the sheet a camera is held with care. Common practice, no source. */
const TILT_DEG = 3;
/**
 * Distance of the lens as a share of the longer side it sees: a phone's main camera, from memory
 * that such a lens sees about 67° along it.
 */
const LENS_DISTANCE = 0.76;
/** Standard uncertainty of a printed or engraved scale's length, mm. Common practice, no source. */
export const SCALE_UNCERTAINTY_MM = 0.1;
/** From photograph to photograph, each aligned to the next. */
const MOST_STEPS = 8;

/** The error of a tap in pixels of the photograph, shown at that many screen pixels each. */
export function tapErrorPx(/** @type {number} */ screenPxPerPx) {
  return Math.max(FINEST_TAP_PX, TAP_PX / screenPxPerPx);
}

/** @param {Matrix} a @param {Matrix} b @returns {Matrix}  first b, then a */
export function multiply(a, b) {
  return Array.from({ length: 9 }, (_, at) => {
    const row = 3 * Math.floor(at / 3);
    const column = at % 3;
    return a[row] * b[column] + a[row + 1] * b[column + 3] + a[row + 2] * b[column + 6];
  });
}

/** @param {Matrix} matrix @returns {Matrix} @throws {WrongPoints} when there is none */
export function inverse([a, b, c, d, e, f, g, h, i]) {
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (!determinant || !Number.isFinite(determinant)) {
    throw new WrongPoints("These points lie on one line. Tap them again.");
  }
  return [
    e * i - f * h, c * h - b * i, b * f - c * e,
    f * g - d * i, a * i - c * g, c * d - a * f,
    d * h - e * g, b * g - a * h, a * e - b * d,
  ].map((value) => value / determinant);
}

/** A point through a matrix. @param {Matrix} m @param {Point} point @returns {Point} */
export function apply(m, [x, y]) {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

/**
 * How a mapped point moves for each step of x and of y: [[du/dx, du/dy], [dv/dx, dv/dy]].
 *
 * @param {Matrix} m @param {Point} pixel
 */
function slopes(m, [x, y]) {
  const w = m[6] * x + m[7] * y + m[8];
  const [u, v] = apply(m, [x, y]);
  return [
    [(m[0] - u * m[6]) / w, (m[1] - u * m[7]) / w],
    [(m[3] - v * m[6]) / w, (m[4] - v * m[7]) / w],
  ];
}

/**
 * Millimetres that one pixel spans at a place of the picture: the root of the area it covers.
 *
 * @param {Matrix} m @param {Point} pixel
 */
export function mmPerPixel(m, pixel) {
  const [[a, b], [c, d]] = slopes(m, pixel);
  return Math.sqrt(Math.abs(a * d - b * c));
}

/**
 * Lays a picture on the sheet by the sheet's four corners.
 *
 * @param {Point[]} points  top left, top right, bottom right, bottom left, as seen, in pixels
 * @param {{width_mm: number, height_mm: number, sheet_uncertainty_mm: number, tap_px: number,
 *   picture?: Picture}} known  the sheet's width and its height err each by its uncertainty
 * @returns {Placed}
 * @throws {WrongPoints} with a sentence
 */
export function fromCorners(points, { width_mm, height_mm, sheet_uncertainty_mm, tap_px, picture }) {
  if (points.length !== 4) throw new WrongPoints("Tap the four corners of the sheet.");
  checkWithin(points, picture, CORNERS);
  if (!(width_mm > 0 && height_mm > 0)) {
    throw new WrongPoints("Give the sheet’s width and height in millimetres first.");
  }
  checkFarEnough(points, tap_px, CORNERS);
  checkConvex(points);
  const unit = inverse(ofUnitSquare(points));
  const scaled = multiply([width_mm, 0, 0, 0, height_mm, 0, 0, 0, 1], unit);
  const matrix = scaled.map((value) => value / scaled[8]);
  // Errors in mm of the four corners, one list for each of the causes.
  const causes = points.flatMap((point, at) => {
    const [[a, b], [c, d]] = slopes(matrix, point);
    return [[a, c], [b, d]].map(([x, y]) => {
      const error = Array(8).fill(0);
      error[2 * at] = x * tap_px;
      error[2 * at + 1] = y * tap_px;
      return error;
    });
  });
  const u = sheet_uncertainty_mm;
  causes.push([0, 0, u, 0, u, 0, 0, 0], [0, 0, 0, 0, 0, u, 0, u]);
  const corners = /** @type {Point[]} */ ([[0, 0], [width_mm, 0], [width_mm, height_mm], [0, height_mm]]);
  const warp = warpOf(corners, causes);
  return {
    matrix,
    mm_per_px: mmPerPixel(matrix, middleOf(points)),
    uncertainty_mm: typical(warp, width_mm, height_mm),
    caution: sizeTurned(points, width_mm, height_mm),
    warp,
    tap_px,
  };
}

/**
 * The matrix that takes the unit square to four points (P. Heckbert, Fundamentals of Texture
 * Mapping and Image Warping, 1989, section 2.2.3, from memory).
 *
 * @param {Point[]} points @returns {Matrix}
 */
function ofUnitSquare([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]) {
  const [dx1, dy1, dx2, dy2] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [sx, sy] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3];
  const determinant = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / determinant;
  const h = (dx1 * sy - sx * dy1) / determinant;
  return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h, 1];
}

/**
 * Gives a picture its millimetres by a scale of known length that lies in the sheet's plane.
 *
 * One scale knows neither the sheet's corner nor a tilt of the camera: millimetres run along the
 * picture's own sides from its top left, and the tilt that a camera may have is part of the
 * uncertainty, which so grows away from the scale.
 *
 * @param {Point[]} points  its two ends, in pixels
 * @param {{length_mm: number, length_uncertainty_mm: number, tap_px: number, picture: Picture,
 *   tilt_deg?: number}} known
 * @returns {Placed}
 * @throws {WrongPoints} with a sentence
 */
export function fromScale(
  points,
  { length_mm, length_uncertainty_mm, tap_px, picture, tilt_deg = TILT_DEG },
) {
  if (points.length !== 2) throw new WrongPoints("Tap the two ends of the scale.");
  checkWithin(points, picture, ENDS);
  if (!(length_mm > 0)) {
    throw new WrongPoints("Give the length between the two ends of the scale in millimetres.");
  }
  checkFarEnough(points, tap_px, ENDS);
  const per_px = length_mm / distance(points[0], points[1]);
  const matrix = [per_px, 0, 0, 0, per_px, 0, 0, 0, 1];
  const [start, end] = points.map((point) => apply(matrix, point));
  const along = [(end[0] - start[0]) / length_mm, (end[1] - start[1]) / length_mm];
  const [width, height] = [picture.width_px * per_px, picture.height_px * per_px];
  // Corners of the picture: four places that fix the whole field.
  const places = /** @type {Point[]} */ ([[0, 0], [width, 0], [width, height], [0, height]]);
  const centre = middleOf([start, end]);
  const off = places.map(([x, y]) => [x - centre[0], y - centre[1]]);
  const magnified = off.flat().map((value) => value / length_mm);
  const causes = [
    magnified.map((value) => value * Math.SQRT2 * tap_px * per_px),
    magnified.map((value) => value * length_uncertainty_mm),
  ];
  const lens = LENS_DISTANCE * Math.max(width, height);
  for (const towards of [[1, 0], [0, 1]]) {
    // Tilted towards there, the picture grows on that side in proportion.
    const [first, second, ...grown] = [start, end, ...places].map(([x, y]) => {
      const [dx, dy] = [x - width / 2, y - height / 2];
      const share = (dx * towards[0] + dy * towards[1]) / lens;
      return [dx * share, dy * share];
    });
    const shift = [(first[0] + second[0]) / 2, (first[1] + second[1]) / 2];
    // A longer or shorter scale magnifies all about its middle; only the part along it counts.
    const stretch =
      ((second[0] - first[0]) * along[0] + (second[1] - first[1]) * along[1]) / length_mm;
    causes.push(
      grown.flatMap(([x, y], at) =>
        [x - shift[0] - stretch * off[at][0], y - shift[1] - stretch * off[at][1]].map(
          (value) => (value * tilt_deg * Math.PI) / 180,
        ),
      ),
    );
  }
  const warp = warpOf(places, causes);
  const farthest = Math.max(...places.map((place) => placeError(warp, place)));
  const reach = Math.max(...off.map(([x, y]) => Math.hypot(x, y)));
  return {
    matrix,
    mm_per_px: per_px,
    uncertainty_mm: typical(warp, width, height),
    caution:
      "One scale tells how large things are, not whether the camera was tilted, and tilt is not " +
      `corrected. If it was tilted by ${tilt_deg}°, lengths are right beside the scale and wrong ` +
      `by about ${Math.round((100 * farthest) / reach)} % at the far corner of the picture. Tap ` +
      "the sheet’s four corners to correct it.",
    warp,
    tap_px,
  };
}

/**
 * A picture that was placed before, from what its record keeps: how sure it is, too. One that was
 * aligned to another is as sure as that one; its `tap_px` is what the alignment adds, to which the
 * error of each new tap comes.
 *
 * @param {Matrix} matrix  its own
 * @param {Placing} placing
 * @param {number} sheet_uncertainty_mm
 * @param {Picture} picture
 * @param {(photograph: string) => Placing | null} placingOf
 * @returns {Placed}
 * @throws {WrongPoints} when what it was aligned to is gone
 */
export function placedAgain(matrix, placing, sheet_uncertainty_mm, picture, placingOf) {
  let root = placing;
  for (let steps = 0; root.photograph && steps < MOST_STEPS; steps += 1) {
    root = placingOf(root.photograph) ?? { ...root, photograph: undefined };
  }
  if (root.kind === "aligned") {
    throw new WrongPoints(
      "The photograph that this one was aligned to is gone. Set the sheet’s corners on this one.",
    );
  }
  const of = (/** @type {number} */ tap_px, /** @type {number} */ size_u) =>
    root.kind === "corners"
      ? fromCorners(root.points, {
          width_mm: root.size_mm[0],
          height_mm: root.size_mm[1],
          sheet_uncertainty_mm: size_u,
          tap_px,
        })
      : fromScale(root.points, {
          length_mm: root.size_mm[0],
          length_uncertainty_mm: SCALE_UNCERTAINTY_MM,
          tap_px,
          picture,
        });
  // The squares of both causes add up, so the tap's own part is what the others leave.
  const nearly = 1e-6;
  const others = of(nearly, sheet_uncertainty_mm).uncertainty_mm;
  const share = of(1, 0).uncertainty_mm ** 2 - of(nearly, 0).uncertainty_mm ** 2;
  const left = Math.max(0, root.uncertainty_mm ** 2 - others ** 2);
  const found = of(Math.max(nearly, Math.sqrt(left / share)), sheet_uncertainty_mm);
  const added = Math.max(0, placing.uncertainty_mm ** 2 - root.uncertainty_mm ** 2);
  return {
    ...found,
    matrix,
    mm_per_px: placing.mm_per_px,
    uncertainty_mm: placing.uncertainty_mm,
    tap_px: Math.sqrt(added) / placing.mm_per_px,
  };
}

/**
 * The length of a line through points on the sheet, each tapped in the photograph.
 *
 * @param {Placed} placed
 * @param {Point[]} points  in mm
 * @returns {Measured}  in mm
 * @throws {WrongPoints} for fewer than two different points
 */
export function lengthOf(placed, points) {
  let value = 0;
  const change = points.map(() => [0, 0]);
  for (let at = 1; at < points.length; at += 1) {
    const length = distance(points[at - 1], points[at]);
    // Two taps on one place pull in no direction.
    if (length === 0) continue;
    value += length;
    for (const axis of [0, 1]) {
      const pull = (points[at][axis] - points[at - 1][axis]) / length;
      change[at][axis] += pull;
      change[at - 1][axis] -= pull;
    }
  }
  if (!(value > 0)) throw new WrongPoints("Tap at least two different places to measure a length.");
  return { value, uncertainty: spread(placed, points, change) };
}

/**
 * The area inside a closed outline on the sheet, each corner tapped in the photograph.
 *
 * @param {Placed} placed
 * @param {Point[]} points  in mm
 * @returns {Measured}  in mm²
 * @throws {WrongPoints} for fewer than three corners, or an outline that crosses itself
 */
export function areaOf(placed, points) {
  checkOutline(points);
  const around = points.map((_, at) => [points.at(at - 1) ?? points[at], points[(at + 1) % points.length]]);
  const twice = around.reduce((sum, [, [x, y]], at) => sum + points[at][0] * y - x * points[at][1], 0);
  const change = around.map(([before, after]) => [(after[1] - before[1]) / 2, (before[0] - after[0]) / 2]);
  return { value: Math.abs(twice) / 2, uncertainty: spread(placed, points, change) };
}

/**
 * The mean interval of lines that were tapped one after the other, straight across them: the slope
 * by least squares of their places along the way from the first to the last. What the places
 * scatter, when that is more than their taps explain, is taken for their uncertainty.
 *
 * @param {Placed} placed
 * @param {Point[]} points  one a line, in mm
 * @returns {Measured}  in mm
 * @throws {WrongPoints} for fewer than two lines
 */
export function intervalOf(placed, points) {
  const [first, last] = [points[0], points[points.length - 1]];
  const whole = points.length > 1 ? distance(first, last) : 0;
  if (!(whole > 0)) throw new WrongPoints("Tap at least two lines, straight across them.");
  const way = [(last[0] - first[0]) / whole, (last[1] - first[1]) / whole];
  const places = points.map(([x, y]) => (x - first[0]) * way[0] + (y - first[1]) * way[1]);
  const n = points.length;
  const squares = (n * (n ** 2 - 1)) / 12;
  const weights = places.map((_, at) => (at - (n - 1) / 2) / squares);
  const value = places.reduce((sum, place, at) => sum + weights[at] * place, 0);
  const mean = places.reduce((sum, place) => sum + place, 0) / n;
  const scatter = places.reduce(
    (sum, place, at) => sum + (place - mean - (at - (n - 1) / 2) * value) ** 2,
    0,
  );
  const change = weights.map((weight) => [weight * way[0], weight * way[1]]);
  const tapped = spread(placed, points, change);
  const scattered = n > 2 ? Math.sqrt(scatter / (n - 2) / squares) : 0;
  return { value, uncertainty: Math.max(tapped, scattered) };
}

/**
 * Uncertainty of a value that changes by `change` for each millimetre that its points move.
 *
 * @param {Placed} placed @param {Point[]} points @param {number[][]} change
 */
function spread({ matrix, warp, tap_px }, points, change) {
  const back = inverse(matrix);
  const whole = Array(8).fill(0);
  let tapped = 0;
  points.forEach((point, at) => {
    const [in_x, in_y] = field(point);
    const [cx, cy] = change[at];
    for (let i = 0; i < 8; i += 1) whole[i] += cx * in_x[i] + cy * in_y[i];
    const [[a, b], [c, d]] = slopes(matrix, apply(back, point));
    tapped += ((cx * a + cy * c) ** 2 + (cx * b + cy * d) ** 2) * tap_px ** 2;
  });
  return Math.sqrt(Math.max(0, form(warp, whole)) + tapped);
}

/** vᵀ W v @param {number[][]} warp @param {number[]} v */
function form(warp, v) {
  return warp.reduce((sum, row, i) => sum + v[i] * row.reduce((of, w, j) => of + w * v[j], 0), 0);
}

/**
 * How a place moves, in x and in y, for the eight small numbers by which a matrix may differ from
 * one that changes nothing: an affine map in the first six, and x and y of the vanishing line.
 *
 * @param {Point} place  in mm
 */
function field([x, y]) {
  return [
    [x, y, 1, 0, 0, 0, -x * x, -x * y],
    [0, 0, 0, x, y, 1, -x * y, -y * y],
  ];
}

/**
 * The covariance of the eight, from what each cause does to four places.
 *
 * @param {Point[]} places @param {number[][]} causes  eight numbers each: x and y of each place
 */
function warpOf(places, causes) {
  const errors = solved(places.flatMap(field), causes);
  return Array.from({ length: 8 }, (_, i) =>
    Array.from({ length: 8 }, (__, j) => errors.reduce((sum, error) => sum + error[i] * error[j], 0)),
  );
}

/**
 * Solves A x = b for several b, by elimination with the largest pivot of each column.
 *
 * @param {number[][]} a @param {number[][]} sides
 */
function solved(a, sides) {
  const n = a.length;
  const rows = a.map((row, at) => [...row, ...sides.map((side) => side[at])]);
  for (let column = 0; column < n; column += 1) {
    let pivot = column;
    for (let row = column + 1; row < n; row += 1) {
      if (Math.abs(rows[row][column]) > Math.abs(rows[pivot][column])) pivot = row;
    }
    [rows[column], rows[pivot]] = [rows[pivot], rows[column]];
    for (let row = 0; row < n; row += 1) {
      const share = rows[row][column] / rows[column][column];
      if (row === column || share === 0) continue;
      for (let at = column; at < rows[row].length; at += 1) rows[row][at] -= share * rows[column][at];
    }
  }
  return sides.map((_, at) => rows.map((row, i) => row[n + at] / row[i]));
}

/** Of a place in x or in y. @param {number[][]} warp @param {Point} place */
function placeError(warp, place) {
  const [in_x, in_y] = field(place);
  return Math.sqrt(Math.max(0, form(warp, in_x) + form(warp, in_y)) / 2);
}

/** Root mean square of it over a rectangle. @param {number[][]} warp @param {number} width @param {number} height */
function typical(warp, width, height) {
  let sum = 0;
  for (let i = 0; i <= 8; i += 1) {
    for (let j = 0; j <= 8; j += 1) sum += placeError(warp, [(width * i) / 8, (height * j) / 8]) ** 2;
  }
  return Math.sqrt(sum / 81);
}

/** A place as seen from the other side. @param {Point} point @param {number} width_mm @returns {Point} */
export function mirrored([x, y], width_mm) {
  return [width_mm - x, y];
}

/** @param {Point} a @param {Point} b */
export function distance(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** @param {Point[]} points @throws {WrongPoints} when they are no outline */
export function checkOutline(points) {
  if (new Set(points.map(String)).size < 3) {
    throw new WrongPoints("Tap at least three different corners to measure an area.");
  }
  if (crossesItself(points)) {
    throw new WrongPoints(
      "The outline crosses itself. Tap its corners again in their order along the edge.",
    );
  }
}

/** @param {Point[]} points @param {Picture | undefined} picture @param {string[]} names */
function checkWithin(points, picture, names) {
  points.forEach(([x, y], at) => {
    if (!picture || (x >= 0 && y >= 0 && x <= picture.width_px && y <= picture.height_px)) return;
    throw new WrongPoints(`The ${names[at]} lies outside the picture. Tap it again.`);
  });
}

/** @param {Point[]} points @param {number} tap_px @param {string[]} names */
function checkFarEnough(points, tap_px, names) {
  for (let one = 0; one < points.length; one += 1) {
    for (let other = one + 1; other < points.length; other += 1) {
      const apart = distance(points[one], points[other]);
      if (apart >= NEAREST_TAPS * tap_px) continue;
      throw new WrongPoints(
        `The ${names[one]} and the ${names[other]} are only ${Math.round(apart)} pixels apart: too ` +
          "near to measure by. Tap them again, or come closer and photograph the sheet anew.",
      );
    }
  }
}

/** The corners of a sheet go round clockwise, whoever looks. @param {Point[]} points */
function checkConvex(points) {
  const sines = points.map((here, at) => {
    const [before, after] = [points[(at + 3) % 4], points[(at + 1) % 4]];
    const turn =
      (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0]);
    return turn / (distance(before, here) * distance(here, after));
  });
  const again = "Tap top left, top right, bottom right, bottom left, in this order.";
  const sizes = sines.map(Math.abs);
  const flattest = sizes.indexOf(Math.min(...sizes));
  if (sizes[flattest] < LEAST_SINE) {
    throw new WrongPoints(`The ${CORNERS[flattest]} lies on a line with its two neighbours. ${again}`);
  }
  const left = sines.filter((sine) => sine < 0).length;
  if (left === 4) throw new WrongPoints(`The corners were tapped anticlockwise. ${again}`);
  if (left === 2) throw new WrongPoints(`The edges between the corners cross. ${again}`);
  if (left === 0) return;
  const odd = sines.indexOf(left === 1 ? Math.min(...sines) : Math.max(...sines));
  throw new WrongPoints(
    `The ${CORNERS[odd]} lies inside the other three, which no flat sheet does. ${again}`,
  );
}

/** A sentence when the corners would fit the size much better with its sides exchanged. */
function sizeTurned(
  /** @type {Point[]} */ points,
  /** @type {number} */ width_mm,
  /** @type {number} */ height_mm,
) {
  const [top, right, bottom, left] = points.map((point, at) => distance(point, points[(at + 1) % 4]));
  const seen = Math.log((top + bottom) / (right + left));
  const told = Math.log(width_mm / height_mm);
  if (Math.abs(told) < 0.1 || Math.abs(seen + told) > 0.5 * Math.abs(seen - told)) return "";
  return (
    `In the picture the sheet is ${seen > 0 ? "wider than high" : "higher than wide"}, but its ` +
    `size is ${width_mm} mm wide and ${height_mm} mm high. Look whether the two were exchanged, ` +
    "or the corners tapped from another one."
  );
}

/** @param {Point[]} points @returns {Point} */
function middleOf(points) {
  const sum = points.reduce(([x, y], [px, py]) => [x + px, y + py], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

/** Whether an outline crosses itself. @param {Point[]} points */
export function crossesItself(points) {
  const n = points.length;
  for (let a = 0; a < n; a += 1) {
    for (let b = a + 2; b < n; b += 1) {
      if (a === 0 && b === n - 1) continue;
      if (cross(points[a], points[a + 1], points[b], points[(b + 1) % n])) return true;
    }
  }
  return false;
}

/** @param {Point} a @param {Point} b @param {Point} c @param {Point} d */
function cross(a, b, c, d) {
  const side = (/** @type {Point} */ p, /** @type {Point} */ q, /** @type {Point} */ r) =>
    Math.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]));
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}
