/** Reads the outside of a GIF file (GIF89a specification, sections 17, 18 and 27). */

import { letters, viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

const TRAILER = 0x3b;

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readGif(bytes) {
  const signature = letters(bytes, 0, 6);
  if (signature !== "GIF87a" && signature !== "GIF89a") return null;
  if (bytes.length < 13) return { width_px: null, height_px: null, isWhole: false };
  const view = viewOf(bytes);
  return {
    width_px: view.getUint16(6, true),
    height_px: view.getUint16(8, true),
    isWhole: bytes[bytes.length - 1] === TRAILER,
  };
}
