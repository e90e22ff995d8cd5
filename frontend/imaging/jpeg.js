/** Reads the outside of a JPEG file (ITU-T T.81, annex B). */

import { viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

const START_OF_SCAN = 0xda;
const END_OF_IMAGE = 0xd9;

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readJpeg(bytes) {
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8 || bytes[2] !== 0xff) return null;
  const view = viewOf(bytes);
  let width_px = null;
  let height_px = null;
  let at = 2;
  while (at + 1 < bytes.length) {
    if (bytes[at] !== 0xff) break;
    const marker = bytes[at + 1];
    if (marker === END_OF_IMAGE) return { width_px, height_px, isWhole: true };
    if (marker === 0xff) {
      at += 1;
    } else if (standsAlone(marker)) {
      at += 2;
    } else {
      if (at + 4 > bytes.length) break;
      const length = view.getUint16(at + 2);
      if (isFrame(marker) && at + 9 <= bytes.length) {
        height_px = view.getUint16(at + 5);
        width_px = view.getUint16(at + 7);
      }
      at += 2 + length;
      if (marker === START_OF_SCAN) at = endOfScan(bytes, at);
    }
  }
  return { width_px, height_px, isWhole: false };
}

/** Markers without a length: TEM and the restarts. @param {number} marker */
function standsAlone(marker) {
  return marker === 0x01 || (marker >= 0xd0 && marker <= 0xd7);
}

/** SOF0 to SOF15; C4, C8 and CC are tables. @param {number} marker */
function isFrame(marker) {
  return marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
}

/** Where the next marker stands after the coded data. @param {Uint8Array} bytes @param {number} at */
function endOfScan(bytes, at) {
  for (;;) {
    at = bytes.indexOf(0xff, at);
    if (at === -1 || at + 1 >= bytes.length) return bytes.length;
    // In coded data, FF is followed by 00; restarts belong to the scan.
    if (bytes[at + 1] !== 0 && !standsAlone(bytes[at + 1])) return at;
    at += 2;
  }
}
