/**
 * Looks at a photograph just taken: is it in focus, was the tablet still, and is it exposed so
 * that its light can show what it is for. Pure; shot-check-worker.js runs it beside the page, and
 * nothing of the page may import it, since the page's modules are joined.
 *
 * Sharpness is told by how wide the sharpest edges are, and not by how much detail there is, so
 * that a blank sheet is not called blurred nor a rich one sharp. Motion widens the edges that lie
 * across it and leaves those along it, which tells it from a picture that is out of focus. Where
 * too few edges stand clear of the sensor's noise, nothing is said against the picture.
 *
 * The bounds were found on rendered sheets: tests/benchmarks/shot_check.py measures how often
 * they are right. No source.
 */

/** @import { ShotCheck } from "../store/types.js" */

/** @typedef {Uint8Array | Uint8ClampedArray | Float32Array} Grey  levels 0…255, row by row */

/**
 * What a picture showed, before it is put into words.
 *
 * edges      how many stood clear of the noise
 * width_px   of the sharpest edges, as the standard deviation of the blur that a clean edge would
 *            need to be as wide; null where there are too few edges
 * sway       how far the squares of those widths differ with the direction, px²
 * sway_share the same as a share of their mean
 * burnt      share of the pixels at the top of the scale; blocked: at its foot
 * brightest  the level that one pixel in a hundred exceeds, 0…255
 * @typedef {{
 *   edges: number,
 *   width_px: number | null,
 *   sway: number,
 *   sway_share: number,
 *   burnt: number,
 *   blocked: number,
 *   brightest: number,
 * }} Found
 */

/** The longer side that a picture is looked at with, px: about half of what a tablet takes. */
const LOOKED_AT_PX = 2000;
/** A picture whose shorter side has fewer pixels is no photograph of a sheet. */
const SMALLEST_PX = 700;

/** In each square of this side, px, the strongest edge of each direction is measured. */
const SQUARE = 24;
/** Directions of edges, over half a turn. */
const DIRECTIONS = 8;
/** How far to each side an edge is followed, px. */
const REACH = 9;
/** An edge ends where its slope has sunk to this share of its steepest. */
const FOOT = 0.1;
/** A clean edge blurred by a standard deviation of 1 px is this wide: its step over its steepest slope. */
const WIDTH_OF_BLUR = Math.sqrt(2 * Math.PI);
/** Edges count from this step, in levels and in standard deviations of the noise. */
const LEAST_STEP = 20;
const CLEAR_OF_NOISE = 12;
/** The slope over two pixels from which a place is looked at, levels. */
const LEAST_SLOPE = 8;
const FEWEST_EDGES = 40;
const FEWEST_IN_DIRECTION = 12;
const FEWEST_DIRECTIONS = 4;
/** So many of a direction say enough of it. */
const ENOUGH_IN_DIRECTION = 200;
/** Which of the widths speaks: this share of the edges is sharper still. */
const SHARPEST = 0.05;
const SHARPEST_IN_DIRECTION = 0.1;

/** Edges wider than this are not sharp, px. */
const WIDEST_PX = 1;
/** Edges whose widths differ more than this with the direction were drawn out by motion. */
const MOST_SWAY = 0.42;
const MOST_SWAY_SHARE = 0.5;

const BURNT = 251;
const BLOCKED = 3;

/**
 * How much of a picture may be burnt out or blocked, and how bright its brightest hundredth must
 * be, by light: sheen burns out in specular light, the lamp around the sheet in transmitted; the
 * bench is black about a sheet that is lit from below, or that glows.
 *
 * @type {Record<string, {burnt: number, blocked: number, brightest: number}>}
 */
const EXPOSURES = {
  normal: { burnt: 0.02, blocked: 0.3, brightest: 110 },
  raking: { burnt: 0.05, blocked: 0.5, brightest: 80 },
  transmitted: { burnt: 0.4, blocked: 0.9, brightest: 80 },
  specular: { burnt: 0.35, blocked: 0.8, brightest: 60 },
  ultraviolet: { burnt: 0.05, blocked: 0.97, brightest: 24 },
};

/**
 * By how much a picture is made smaller before it is looked at; 0 when it is too small for that.
 *
 * @param {number} width
 * @param {number} height
 */
export function shrinkage(width, height) {
  if (Math.min(width, height) < SMALLEST_PX) return 0;
  return Math.max(1, Math.round(Math.max(width, height) / LOOKED_AT_PX));
}

/**
 * The means of squares of `by` × `by` pixels as grey, with the weights of luma in ITU-R BT.709.
 * What is left over at the right and below is left out.
 *
 * @param {Uint8ClampedArray} rgba
 * @param {number} width  px
 * @param {number} by
 * @param {Float32Array} into
 * @param {number} from  where in it to begin
 */
export function shrinkInto(rgba, width, by, into, from) {
  const w = Math.floor(width / by);
  const h = Math.floor(rgba.length / (4 * width) / by);
  const share = 1 / (by * by);
  for (let y = 0; y < h * by; y++) {
    const row = from + Math.floor(y / by) * w;
    for (let x = 0, at = 4 * y * width; x < w; x++) {
      let sum = 0;
      for (let n = 0; n < by; n++, at += 4) {
        sum += 0.2126 * rgba[at] + 0.7152 * rgba[at + 1] + 0.0722 * rgba[at + 2];
      }
      into[row + x] += share * sum;
    }
  }
}

/** @param {Grey} grey @param {number} width @param {number} height @returns {Found} */
export function look(grey, width, height) {
  const edges = edgesIn(grey, width, height);
  const all = edges.flat();
  const enough = all.length >= FEWEST_EDGES;
  return {
    edges: all.length,
    width_px: enough ? atShare(all, SHARPEST) : null,
    ...swayOf(edges),
    ...levelsOf(grey),
  };
}

/**
 * What the person is told.
 *
 * @param {Found} found
 * @param {string} light
 * @returns {ShotCheck}
 */
export function judge(found, light) {
  const steady = !(found.sway > MOST_SWAY && found.sway_share > MOST_SWAY_SHARE);
  const sharp = steady && (found.width_px === null || found.width_px <= WIDEST_PX);
  const exposure = exposureTrouble(found, light);
  const sentences = [];
  if (!steady) sentences.push(MOVED);
  else if (!sharp) sentences.push(NOT_SHARP);
  else if (found.width_px === null) sentences.push(CANNOT_TELL);
  if (exposure) sentences.push(exposure);
  return { sharp, steady, exposed: exposure === "", sentences };
}

const MOVED = "Not sharp, because the device moved: hold it still, or rest it, and take it again.";
const NOT_SHARP =
  "Not sharp: tap the sheet on the screen to focus, hold the device still, or rest it, and take it again.";
const CANNOT_TELL =
  "Too little stands out in this picture to tell whether it is sharp: enlarge it and look.";

/** @param {Found} found @param {string} light @returns {string} "" when there is none */
function exposureTrouble({ burnt, blocked, brightest }, light) {
  const most = EXPOSURES[light] ?? EXPOSURES.normal;
  const share = (/** @type {number} */ part) => `${Math.max(1, Math.round(100 * part))} %`;
  if (burnt > most.burnt) {
    return `Too bright: ${share(burnt)} of the picture is burnt out to white. Give it less light or a shorter exposure, and take it again.`;
  }
  if (brightest < most.brightest) {
    return "Too dark to show much: give it more light or a longer exposure, and take it again.";
  }
  if (blocked > most.blocked) {
    return `Too dark: ${share(blocked)} of the picture is blocked to black. Give it more light or a longer exposure, and take it again.`;
  }
  return "";
}

/** @param {Grey} grey */
function levelsOf(grey) {
  const counts = new Float64Array(256);
  for (let i = 0; i < grey.length; i++) counts[Math.round(grey[i])] += 1;
  const total = Math.max(1, grey.length);
  let [burnt, blocked, above, brightest] = [0, 0, 0, 0];
  for (let level = 255; level >= 0; level--) {
    if (level >= BURNT) burnt += counts[level];
    if (level <= BLOCKED) blocked += counts[level];
    above += counts[level];
    if (above >= total / 100) brightest = Math.max(brightest, level);
  }
  return { burnt: burnt / total, blocked: blocked / total, brightest };
}

/**
 * The widths of the strongest edges, px, by the direction across them.
 *
 * @param {Grey} grey
 * @param {number} width
 * @param {number} height
 * @returns {number[][]}
 */
function edgesIn(grey, width, height) {
  /** @type {number[][]} */
  const widths = Array.from({ length: DIRECTIONS }, () => []);
  const least = Math.max(LEAST_STEP, CLEAR_OF_NOISE * noiseOf(grey, width, height));
  const margin = REACH + 2;
  const steepest = new Float64Array(DIRECTIONS);
  const places = new Int32Array(DIRECTIONS);
  for (let top = margin; top < height - margin; top += SQUARE) {
    for (let left = margin; left < width - margin; left += SQUARE) {
      steepest.fill(LEAST_SLOPE ** 2);
      places.fill(-1);
      const [right, bottom] = [Math.min(left + SQUARE, width - margin), Math.min(top + SQUARE, height - margin)];
      for (let y = top; y < bottom; y++) {
        for (let x = left, at = y * width + left; x < right; x++, at++) {
          const across = grey[at + 1] - grey[at - 1];
          const down = grey[at + width] - grey[at - width];
          const slope = across * across + down * down;
          if (slope <= LEAST_SLOPE ** 2) continue;
          const direction = directionOf(across, down);
          if (slope > steepest[direction]) {
            steepest[direction] = slope;
            places[direction] = at;
          }
        }
      }
      for (let direction = 0; direction < DIRECTIONS; direction++) {
        if (places[direction] < 0) continue;
        const found = widthAt(grey, width, places[direction], least);
        if (found !== null) widths[direction].push(found);
      }
    }
  }
  return widths;
}

const TAN_1 = Math.tan(Math.PI / 16);
const TAN_3 = Math.tan((3 * Math.PI) / 16);

/** Which eighth of half a turn a slope points into: Math.atan2 would take most of the time. */
function directionOf(/** @type {number} */ across, /** @type {number} */ down) {
  const a = Math.abs(across);
  const d = Math.abs(down);
  const n = d <= TAN_1 * a ? 0 : d <= TAN_3 * a ? 1 : a > TAN_3 * d ? 2 : a > TAN_1 * d ? 3 : 4;
  return n === 0 || n === 4 || across > 0 === down > 0 ? n : DIRECTIONS - n;
}

/**
 * How wide the edge at a place is; null when its step is too small to count.
 *
 * @param {Grey} grey
 * @param {number} width
 * @param {number} at
 * @param {number} least  step, levels
 */
function widthAt(grey, width, at, least) {
  const across = grey[at + 1] - grey[at - 1];
  const down = grey[at + width] - grey[at - width];
  const slope = Math.hypot(across, down);
  const y = Math.floor(at / width);
  const x = at - y * width;
  /** @type {number[]} */
  const levels = [];
  for (let step = -REACH; step <= REACH; step++) {
    levels.push(levelAt(grey, width, x + (step * across) / slope, y + (step * down) / slope));
  }
  const rise = (/** @type {number} */ i) => levels[i + 1] - levels[i];
  let steepest = REACH - 2;
  for (let i = REACH - 1; i <= REACH + 1; i++) if (rise(i) > rise(steepest)) steepest = i;
  let [first, last] = [steepest, steepest];
  while (first > 0 && rise(first - 1) > FOOT * rise(steepest)) first--;
  while (last < 2 * REACH - 1 && rise(last + 1) > FOOT * rise(steepest)) last++;
  const step = levels[last + 1] - levels[first];
  return step < least ? null : step / rise(steepest) / WIDTH_OF_BLUR;
}

/** Between four pixels. @param {Grey} grey @param {number} width @param {number} x @param {number} y */
function levelAt(grey, width, x, y) {
  const [left, top] = [Math.floor(x), Math.floor(y)];
  const [right, low] = [x - left, y - top];
  const at = top * width + left;
  const above = grey[at] * (1 - right) + grey[at + 1] * right;
  const below = grey[at + width] * (1 - right) + grey[at + width + 1] * right;
  return above * (1 - low) + below * low;
}

/**
 * How the widths change with the direction: the square of the width is fitted by a mean and a
 * wave of two turns, as the blur of a straight motion draws it. Edges that are soft both along
 * and across, as the lines of laid paper are between their crossings, do not fit it.
 *
 * @param {number[][]} edges
 */
function swayOf(edges) {
  const known = edges
    .map((widths, direction) => ({ widths, turn: (direction * 2 * Math.PI) / DIRECTIONS }))
    .filter(({ widths }) => widths.length >= FEWEST_IN_DIRECTION);
  if (known.length < FEWEST_DIRECTIONS) return { sway: 0, sway_share: 0 };
  const sums = [0, 1, 2].map(() => [0, 0, 0, 0]);
  for (const { widths, turn } of known) {
    const weight = Math.min(widths.length, ENOUGH_IN_DIRECTION);
    const terms = [1, Math.cos(turn), Math.sin(turn), atShare(widths, SHARPEST_IN_DIRECTION) ** 2];
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 4; j++) sums[i][j] += weight * terms[i] * terms[j];
    }
  }
  const [mean, cosine, sine] = solved(sums);
  const sway = 2 * Math.hypot(cosine, sine);
  return { sway, sway_share: mean > 0 ? sway / mean : 0 };
}

/** Three equations with their right sides, by elimination. @param {number[][]} rows */
function solved(rows) {
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      if (j === i) continue;
      const share = rows[j][i] / rows[i][i];
      for (let k = i; k < 4; k++) rows[j][k] -= share * rows[i][k];
    }
  }
  return rows.map((row, i) => row[3] / row[i]);
}

/**
 * The standard deviation of the noise, levels, in the quieter parts of the picture: J. Immerkær,
 * "Fast noise variance estimation", Computer Vision and Image Understanding 64 (1996), from memory.
 *
 * @param {Grey} grey
 * @param {number} width
 * @param {number} height
 */
function noiseOf(grey, width, height) {
  const side = 32;
  const found = [];
  for (let top = 1; top + side < height; top += side) {
    for (let left = 1; left + side < width; left += side) {
      let sum = 0;
      for (let y = top; y < top + side; y += 2) {
        for (let x = left, at = y * width + left; x < left + side; x++, at++) {
          const beside = grey[at - 1] + grey[at + 1] + grey[at - width] + grey[at + width];
          const aslant =
            grey[at - width - 1] + grey[at - width + 1] + grey[at + width - 1] + grey[at + width + 1];
          sum += (4 * grey[at] - 2 * beside + aslant) ** 2;
        }
      }
      found.push(Math.sqrt(sum / (side * (side / 2)) / 36));
    }
  }
  return found.length ? atShare(found, 0.3) : 0;
}

/** The value that this share of the others lie below. @param {number[]} values @param {number} share */
function atShare(values, share) {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(share * sorted.length)];
}
