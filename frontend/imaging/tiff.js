/** Reads the outside of a TIFF file (TIFF 6.0, sections 2 and 3), and of raw files built on it. */

import { letters, viewOf } from "./bytes.js";

/** @import { Facts } from "./inspect.js" */

const WIDTH = 256;
const HEIGHT = 257;
/** Where strips or tiles start, and how many bytes they take. */
const STARTS = [273, 324];
const LENGTHS = [279, 325];

/** Bytes a value takes, by field type: only whole numbers are read here. */
const BYTES = new Map([
  [3, 2],
  [4, 4],
]);

/** @param {Uint8Array} bytes @returns {Facts | null} */
export function readTiff(bytes) {
  const mark = letters(bytes, 0);
  if (mark !== "II*\0" && mark !== "MM\0*") return null;
  const view = viewOf(bytes);
  const isLittle = mark.startsWith("II");
  try {
    const entries = firstDirectory(view, isLittle);
    const [starts, lengths] = [STARTS, LENGTHS].map((tags) =>
      tags.flatMap((tag) => entries.get(tag) ?? []),
    );
    return {
      width_px: entries.get(WIDTH)?.[0] ?? null,
      height_px: entries.get(HEIGHT)?.[0] ?? null,
      isWhole: starts.every((start, index) => start + (lengths[index] ?? 0) <= bytes.length),
    };
  } catch (error) {
    // Something it points to lies beyond the end.
    if (error instanceof RangeError) return { width_px: null, height_px: null, isWhole: false };
    throw error;
  }
}

/**
 * The whole-number values of the first image's directory, by tag.
 *
 * @param {DataView} view
 * @param {boolean} isLittle
 * @throws {RangeError} if it points beyond the end
 */
function firstDirectory(view, isLittle) {
  /** @type {Map<number, number[]>} */
  const entries = new Map();
  const start = view.getUint32(4, isLittle);
  const count = view.getUint16(start, isLittle);
  const end = start + 2 + count * 12;
  // The place of the next directory closes this one: reading it shows that the file goes so far.
  view.getUint32(end, isLittle);
  for (let entry = start + 2; entry < end; entry += 12) {
    const size = BYTES.get(view.getUint16(entry + 2, isLittle));
    if (!size) continue;
    const values = view.getUint32(entry + 4, isLittle);
    // Values that fit into four bytes stand in the entry itself.
    const at = values * size <= 4 ? entry + 8 : view.getUint32(entry + 8, isLittle);
    const read = size === 2 ? view.getUint16.bind(view) : view.getUint32.bind(view);
    const list = [];
    for (let index = 0; index < values; index += 1) list.push(read(at + index * size, isLittle));
    entries.set(view.getUint16(entry, isLittle), list);
  }
  return entries;
}
