/**
 * The pixels a pane draws: a small rendition of each photograph, and a sharper one of the part
 * that is looked at. What is kept in memory has bounds, however large the originals are.
 */

import { apply, inverse, mmPerPixel } from "../../imaging/geometry.js";
import { boundsOf } from "./view.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */
/** @import { Size } from "./view.js" */

/**
 * Where bytes come from: the bytes, their address, or whoever fetches them (null when there are
 * none to be had now).
 * @typedef {Blob | string | (() => Promise<Blob | null>)} Source
 *
 * Where a part of the original comes from: the original itself, the address of its parts
 * (`…/region`, see the server's interface), or whoever fetches one or the other.
 * @typedef {Blob | string | Fetcher | null} Whole
 * @typedef {(part: Part, signal: AbortSignal) =>
 *   Promise<{original: Blob} | {part: Blob} | null>} Fetcher
 *
 * A rectangle of the upright original in its pixels, and the longer side that is wanted of it.
 * @typedef {{x: number, y: number, width: number, height: number, longest: number}} Part
 *
 * @typedef {object} Photograph
 * @property {string} id
 * @property {string} light  its code
 * @property {number | null} azimuth_deg
 * @property {"recto" | "verso"} side
 * @property {string} name  for example "Raking light, recto, 315°"
 * @property {number | null} width_px  of the original, as it stands in the record
 * @property {number | null} height_px
 * @property {Source} preview
 * @property {Whole} [original]
 * @property {Matrix | null} homography  pixels of the upright original to sheet mm of its side
 * @property {boolean} [by_scale]  its placing is by a scale: how large, but not where on the sheet
 *
 * canvas     the photograph, upright, its longer side at most so many pixels as was asked for
 * width_px   of the upright original
 * @typedef {{canvas: HTMLCanvasElement, width_px: number, height_px: number}} Rendition
 *
 * @typedef {ReturnType<typeof openPictures>} Pictures
 */

/** The longer side of what is drawn of a whole photograph, and of a part of it. */
export const WHOLE_PX = 1600;
const PART_PX = 2048;
/** Renditions that are kept besides those on show: some 8 MB each. */
const MOST_KEPT = 6;
/** A file larger than this is made smaller while it is decoded. */
const LARGE_FILE_BYTES = 3e6;
/** Parts begin and end at multiples of this, so that the same ones are asked for again. */
const STEP_PX = 256;

/** The pictures of one view; `longest` is the longer side that is kept of each. */
export function openPictures(longest = WHOLE_PX) {
  /** The last used one stands last. @type {Map<string, Promise<Rendition | null>>} */
  const kept = new Map();
  return {
    /** @param {Photograph} photograph @returns {Promise<Rendition | null>}  null when it cannot be shown */
    whole(photograph) {
      const found = kept.get(photograph.id) ?? render(photograph, longest).catch(() => null);
      kept.delete(photograph.id);
      kept.set(photograph.id, found);
      // One that could not be had may come another time.
      found.then((rendition) => rendition ?? kept.delete(photograph.id));
      for (const id of [...kept.keys()].slice(0, -MOST_KEPT)) kept.delete(id);
      return found;
    },
  };
}

/** @param {Photograph} photograph @param {number} longest @returns {Promise<Rendition | null>} */
async function render(photograph, longest) {
  const blob = await bytesOf(photograph.preview);
  if (!blob) return null;
  const picture = await createImageBitmap(blob, {
    imageOrientation: "from-image",
    ...(blob.size > LARGE_FILE_BYTES ? { resizeWidth: longest, resizeQuality: "high" } : {}),
  });
  let [width_px, height_px] = [photograph.width_px ?? picture.width, photograph.height_px ?? picture.height];
  // The record has the size as stored; the file may ask to be turned by a quarter.
  if (width_px > height_px !== picture.width > picture.height) [width_px, height_px] = [height_px, width_px];
  const canvas = drawn(picture, Math.min(1, longest / Math.max(picture.width, picture.height)));
  return { canvas, width_px, height_px };
}

/** Upright pixels of an image on a canvas, which outlives it. @param {ImageBitmap} picture @param {number} share */
function drawn(picture, share) {
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * share));
  canvas.height = Math.max(1, Math.round(picture.height * share));
  const ink = canvas.getContext("2d");
  if (ink) {
    ink.imageSmoothingQuality = "high";
    ink.drawImage(picture, 0, 0, canvas.width, canvas.height);
  }
  picture.close();
  return canvas;
}

/** @param {Source} source @param {AbortSignal} [signal] */
async function bytesOf(source, signal) {
  if (typeof source === "function") return source();
  if (typeof source !== "string") return source;
  const answer = await fetch(source, { signal, credentials: "same-origin" });
  return answer.ok ? answer.blob() : null;
}

/**
 * The part of a photograph that a pane shows, when what is kept of the whole is too coarse for it.
 *
 * @param {Matrix} toPane  pixels of the original to CSS pixels of the pane
 * @param {Size} pane
 * @param {Rendition} whole
 * @returns {Part | null}
 */
export function partOnShow(toPane, pane, whole) {
  const { width, height } = pane;
  const back = inverse(toPane);
  const shown = boundsOf(
    /** @type {Point[]} */ ([[0, 0], [width, 0], [width, height], [0, height]]).map((at) => apply(back, at)),
  );
  const [left, right] = [Math.max(0, shown.left), Math.min(whole.width_px, shown.right)];
  const [top, bottom] = [Math.max(0, shown.top), Math.min(whole.height_px, shown.bottom)];
  if (!(right > left && bottom > top)) return null;
  // Pixels of the original to one of the screen; halved until they are not wasted.
  const finest = 1 / (mmPerPixel(toPane, [(left + right) / 2, (top + bottom) / 2]) * devicePixelRatio);
  let level = 2 ** Math.max(0, Math.floor(Math.log2(finest)));
  for (;;) {
    const step = STEP_PX * level;
    const x = Math.floor(left / step) * step;
    const y = Math.floor(top / step) * step;
    const part = {
      x,
      y,
      width: Math.min(whole.width_px, Math.ceil(right / step) * step) - x,
      height: Math.min(whole.height_px, Math.ceil(bottom / step) * step) - y,
    };
    const longest = Math.ceil(Math.max(part.width, part.height) / level);
    if (longest <= PART_PX) {
      return level < whole.width_px / whole.canvas.width ? { ...part, longest } : null;
    }
    level *= 2;
  }
}

/**
 * A part of a photograph's original on a canvas; null when there is no original to be had.
 *
 * @param {Photograph} photograph @param {Part} part @param {AbortSignal} signal
 */
export async function renderPart({ original }, part, signal) {
  if (!original) return null;
  if (original instanceof Blob) return cut(original, part);
  if (typeof original === "string") {
    const blob = await bytesOf(`${original}?${queryOf(part)}`, signal);
    return blob && drawn(await createImageBitmap(blob), 1);
  }
  const found = await original(part, signal);
  if (!found) return null;
  return "original" in found ? cut(found.original, part) : drawn(await createImageBitmap(found.part), 1);
}

/** A part as the server is asked for it. @param {Part} part */
export function queryOf(part) {
  return Object.entries(part).map(([name, value]) => `${name}=${value}`).join("&");
}

/**
 * By way of an image element: browsers do not agree on what createImageBitmap cuts from a file that
 * asks to be turned.
 *
 * @param {Blob} original @param {Part} part
 */
async function cut(original, { x, y, width, height, longest }) {
  const address = URL.createObjectURL(original);
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    const share = Math.min(1, longest / Math.max(width, height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(width * share));
    canvas.height = Math.max(1, Math.round(height * share));
    const ink = canvas.getContext("2d");
    if (!ink) return null;
    ink.imageSmoothingQuality = "high";
    ink.drawImage(image, x, y, width, height, 0, 0, canvas.width, canvas.height);
    return canvas;
  } finally {
    URL.revokeObjectURL(address);
  }
}
