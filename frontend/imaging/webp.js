/** Reads the outside of a WebP file (RFC 9649). */

import { letters, viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readWebp(bytes) {
  if (letters(bytes, 0) !== "RIFF" || letters(bytes, 8) !== "WEBP") return null;
  const view = viewOf(bytes);
  const isWhole = bytes.length >= 8 + view.getUint32(4, true);
  const size = bytes.length >= 30 ? sizeIn(bytes, view) : null;
  return { width_px: size?.[0] ?? null, height_px: size?.[1] ?? null, isWhole };
}

/** From the first chunk, whose data starts at byte 20. @param {Uint8Array} bytes @param {DataView} view */
function sizeIn(bytes, view) {
  const three = (/** @type {number} */ at) => view.getUint16(at, true) | (bytes[at + 2] << 16);
  switch (letters(bytes, 12)) {
    case "VP8X":
      return [three(24) + 1, three(27) + 1];
    case "VP8 ":
      return [view.getUint16(26, true) & 0x3fff, view.getUint16(28, true) & 0x3fff];
    case "VP8L": {
      const bits = view.getUint32(21, true);
      return [(bits & 0x3fff) + 1, ((bits >> 14) & 0x3fff) + 1];
    }
    default:
      return null;
  }
}
