/** Reads the outside of a PNG file (W3C Portable Network Graphics, section 5). */

import { viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const IHDR = 0x49484452;
const IEND = 0x49454e44;

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readPng(bytes) {
  if (!SIGNATURE.every((byte, index) => bytes[index] === byte)) return null;
  const view = viewOf(bytes);
  let width_px = null;
  let height_px = null;
  let at = SIGNATURE.length;
  // Each chunk: length, type, data, checksum.
  while (at + 12 <= bytes.length) {
    const length = view.getUint32(at);
    const type = view.getUint32(at + 4);
    if (type === IEND) return { width_px, height_px, isWhole: true };
    if (type === IHDR && at + 16 <= bytes.length) {
      width_px = view.getUint32(at + 8);
      height_px = view.getUint32(at + 12);
    }
    at += 12 + length;
  }
  return { width_px, height_px, isWhole: false };
}
