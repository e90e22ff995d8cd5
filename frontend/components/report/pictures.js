/** The photographs of a report, made small enough to print and to send. */

import { db } from "../../store/database.js";
import { asPhotograph } from "../examine/on-sheet/data.js";
import { openPictures, WHOLE_PX } from "../sheet-view/pictures.js";

/** @import { PhotographRow } from "../../store/types.js" */

/**
 * A photograph as the report shows it: a JPEG of at most WHOLE_PX pixels, upright; the size is
 * that of the upright original. `isSmall` when only a thumbnail is on this device.
 * @typedef {{blob: Blob, width_px: number, height_px: number, isSmall: boolean}} Picture
 */

const QUALITY = 0.85;
/** A thumbnail's longer side is shorter than this. */
const SMALL_PX = 700;

/**
 * One after another, for a phone cannot hold many at once.
 *
 * @param {PhotographRow[]} photographs
 * @param {(done: number) => void} onProgress
 * @param {AbortSignal} stop
 * @returns {Promise<Map<string, Picture>>}  by the key of the photograph; none for one that cannot
 *   be shown
 */
export async function takePictures(photographs, onProgress, stop) {
  const opened = openPictures(WHOLE_PX);
  /** @type {Map<string, Picture>} */
  const taken = new Map();
  for (const [at, row] of photographs.entries()) {
    if (stop.aborted) break;
    const picture = await take(row, opened).catch(() => null);
    if (picture) taken.set(row.id, picture);
    onProgress(at + 1);
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
  const blob = await new Promise((/** @type {(blob: Blob | null) => void} */ resolve) =>
    canvas.toBlob(resolve, "image/jpeg", QUALITY),
  );
  const isSmall = Math.max(canvas.width, canvas.height) < Math.min(SMALL_PX, Math.max(width_px, height_px));
  return blob && { blob, width_px, height_px, isSmall };
}

/** @param {string} sha256 @returns {Promise<Blob | null>} */
async function carried(sha256) {
  const [preview, thumbnail] = await Promise.all([db.previews.get(sha256), db.thumbnails.get(sha256)]);
  return (preview ?? thumbnail)?.blob ?? null;
}
