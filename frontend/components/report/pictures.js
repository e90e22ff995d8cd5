/** The photographs of a report, made small enough to print and to send. */

import { db } from "../../store/database.js";
import { asPhotograph } from "../examine/on-sheet/data.js";
import { openPictures, renderPart, WHOLE_PX } from "../sheet-view/pictures.js";
import { boxAround, shapesOn } from "./shapes.js";

/** @import { PhotographRow } from "../../store/types.js" */
/** @import { Detail } from "./data.js" */
/** @import { Box } from "./shapes.js" */

/**
 * A photograph as the report shows it: a JPEG of at most WHOLE_PX pixels, upright; the size is
 * that of the upright original. `isSmall` when only a thumbnail is on this device; `box` when it is
 * a part of the photograph.
 * @typedef {{blob: Blob, width_px: number, height_px: number, isSmall: boolean, box?: Box}} Picture
 */

const QUALITY = 0.85;
/** A thumbnail's longer side is shorter than this. */
const SMALL_PX = 700;
/** The longer side of a detail. */
const DETAIL_PX = 900;

/**
 * One after another, for a phone cannot hold many at once.
 *
 * @param {PhotographRow[]} photographs
 * @param {Detail[]} details
 * @param {(done: number) => void} onProgress
 * @param {AbortSignal} stop
 * @returns {Promise<Map<string, Picture>>}  by the key of the photograph or detail; none for one
 *   that cannot be shown
 */
export async function takePictures(photographs, details, onProgress, stop) {
  const opened = openPictures(WHOLE_PX);
  /** @type {Map<string, Picture>} */
  const taken = new Map();
  let done = 0;
  const keep = async (/** @type {string} */ key, /** @type {Promise<Picture | null>} */ coming) => {
    const picture = await coming.catch(() => null);
    if (picture) taken.set(key, picture);
    done += 1;
    onProgress(done);
  };
  for (const row of photographs) {
    if (stop.aborted) break;
    await keep(row.id, take(row, opened));
  }
  for (const detail of details) {
    if (stop.aborted) break;
    await keep(detail.key, cut(detail, taken.get(detail.photograph.id), stop));
  }
  return taken;
}

/** @param {PhotographRow} row @param {import("../sheet-view/pictures.js").Pictures} opened */
async function take(row, opened) {
  const shown = asPhotograph(row);
  // An original that this browser cannot read may have a preview that it can.
  const rendition = (await opened.whole(shown)) ?? (await opened.whole({ ...shown, preview: () => carried(row.sha256) }));
  if (!rendition) return null;
  const { canvas, width_px, height_px } = rendition;
  const blob = await jpegOf(canvas);
  const isSmall = Math.max(canvas.width, canvas.height) < Math.min(SMALL_PX, Math.max(width_px, height_px));
  return blob && { blob, width_px, height_px, isSmall };
}

/**
 * From the original where it is at hand, else from the picture of the whole. A photograph that was
 * taken of a point, and on which no place is known, is its own detail.
 *
 * @param {Detail} detail @param {Picture | undefined} whole @param {AbortSignal} stop
 * @returns {Promise<Picture | null>}
 */
async function cut({ photograph, state, number }, whole, stop) {
  if (!whole) return null;
  const shape = shapesOn(photograph, whole, state).find((each) => each.number === number);
  if (!shape) return whole;
  const box = boxAround(shape.points, whole);
  const part = { ...box, longest: Math.min(DETAIL_PX, Math.max(box.width, box.height)) };
  const sharp = await renderPart(asPhotograph(photograph), part, stop).catch(() => null);
  const blob = await jpegOf(sharp ?? (await cutFrom(whole, box)));
  return blob && { blob, width_px: box.width, height_px: box.height, isSmall: false, box };
}

/** @param {Picture} whole @param {Box} box */
async function cutFrom({ blob, width_px }, box) {
  const picture = await createImageBitmap(blob);
  const share = picture.width / width_px;
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(box.width * share));
  canvas.height = Math.max(1, Math.round(box.height * share));
  canvas
    .getContext("2d")
    ?.drawImage(picture, box.x * share, box.y * share, box.width * share, box.height * share, 0, 0, canvas.width, canvas.height);
  picture.close();
  return canvas;
}

/** @param {HTMLCanvasElement} canvas @returns {Promise<Blob | null>} */
function jpegOf(canvas) {
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
}

/** @param {string} sha256 @returns {Promise<Blob | null>} */
async function carried(sha256) {
  const [preview, thumbnail] = await Promise.all([db.previews.get(sha256), db.thumbnails.get(sha256)]);
  return (preview ?? thumbnail)?.blob ?? null;
}
