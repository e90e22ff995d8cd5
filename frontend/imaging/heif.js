/** Reads the outside of a HEIC or HEIF file (ISO/IEC 23008-12, boxes of ISO/IEC 14496-12). */

import { letters, viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

const BRANDS = ["heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1"];
/** The image sizes stand near the start, in the "meta" box. */
const BYTES_SEARCHED = 256 * 1024;

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readHeif(bytes) {
  if (letters(bytes, 4) !== "ftyp" || !BRANDS.includes(letters(bytes, 8))) return null;
  const view = viewOf(bytes);
  const [width_px, height_px] = largestSize(bytes, view);
  return { width_px, height_px, isWhole: boxesFit(bytes, view) };
}

/**
 * The largest "ispe" (spatial extents): tiles and previews have smaller ones.
 *
 * @param {Uint8Array} bytes
 * @param {DataView} view
 * @returns {[number | null, number | null]}
 */
function largestSize(bytes, view) {
  /** @type {[number | null, number | null]} */
  let largest = [null, null];
  const end = Math.min(bytes.length, BYTES_SEARCHED) - 16;
  for (let at = bytes.indexOf(0x69); at !== -1 && at < end; at = bytes.indexOf(0x69, at + 1)) {
    if (letters(bytes, at) !== "ispe") continue;
    const [width, height] = [view.getUint32(at + 8), view.getUint32(at + 12)];
    if (width * height > (largest[0] ?? 0) * (largest[1] ?? 0)) largest = [width, height];
  }
  return largest;
}

/** @param {Uint8Array} bytes @param {DataView} view */
function boxesFit(bytes, view) {
  let at = 0;
  while (at + 8 <= bytes.length) {
    let size = view.getUint32(at);
    if (size === 0) return true; // This box reaches to the end, wherever that is.
    if (size === 1) size = at + 16 <= bytes.length ? Number(view.getBigUint64(at + 8)) : 0;
    if (size < 8) return false;
    at += size;
  }
  return at <= bytes.length;
}
