/** Looks into a photograph's bytes: what it is, how large, and whether it is whole. */

import { readGif } from "./gif.js";
import { readHeif } from "./heif.js";
import { readJpeg } from "./jpeg.js";
import { readPng } from "./png.js";
import { readTiff } from "./tiff.js";
import { readWebp } from "./webp.js";

/**
 * What a reader of one format finds. `width_px` and `height_px` are as stored, before any turn
 * that the file asks for; null when the header does not say. `isWhole` is false when the file
 * ends before its own end mark or before the length it announces.
 * @typedef {{width_px: number | null, height_px: number | null, isWhole: boolean}} Facts
 *
 * A reader takes all bytes and returns null if they are not its format.
 * @typedef {(bytes: Uint8Array) => Facts | null} Reader
 */

/** @type {{content_type: string, name: string, extensions: string[], read: Reader}[]} */
const FORMATS = [
  { content_type: "image/jpeg", name: "JPEG", extensions: ["jpg", "jpeg", "jpe"], read: readJpeg },
  { content_type: "image/png", name: "PNG", extensions: ["png"], read: readPng },
  { content_type: "image/webp", name: "WebP", extensions: ["webp"], read: readWebp },
  { content_type: "image/gif", name: "GIF", extensions: ["gif"], read: readGif },
  { content_type: "image/tiff", name: "TIFF", extensions: ["tif", "tiff", "dng"], read: readTiff },
  { content_type: "image/heic", name: "HEIC", extensions: ["heic", "heif"], read: readHeif },
];

/** More pixels than this may exhaust a tablet's memory when decoded. */
export const MOST_PIXELS_DECODED = 100e6;

/**
 * @param {Uint8Array<ArrayBuffer>} bytes  the whole file
 * @param {string} name  the file's name, "" if it has none
 * @returns {{
 *   content_type: string,
 *   width_px: number | null,
 *   height_px: number | null,
 *   trouble: string,
 *   warnings: string[],
 *   makesThumbnail: boolean,
 * }}  `trouble` is a sentence to keep with the photograph; `warnings` are for the person now
 * @throws {Error} with a sentence when the bytes are not an image of a known format
 */
export function inspect(bytes, name) {
  if (bytes.length === 0) throw new Error("This file is empty. Take the photograph again.");
  const found = recognise(bytes);
  if (!found) {
    throw new Error(
      "This file is not a photograph that Fieldleaf knows, so it was not added. " +
        "Choose a JPEG, PNG, WebP, TIFF, HEIC or GIF file.",
    );
  }
  const { format, facts } = found;

  const warnings = [];
  let trouble = "";
  if (!facts.isWhole) {
    trouble = "The file ends early, so part of the picture may be missing.";
    warnings.push(`${trouble} It is kept as it is. Take it again if you still can.`);
  }
  const extension = /\.([a-z]+)$/i.exec(name)?.[1].toLowerCase();
  const claimed = FORMATS.find((each) => extension && each.extensions.includes(extension));
  if (claimed && claimed !== format) {
    warnings.push(
      `The file is named .${extension} but holds a ${format.name} picture. It is kept as ${format.name}.`,
    );
  }
  const pixels = (facts.width_px ?? 0) * (facts.height_px ?? 0);
  const isHuge = pixels > MOST_PIXELS_DECODED;
  if (isHuge) {
    warnings.push(
      `This photograph has ${Math.round(pixels / 1e6)} megapixels, too many for this device to ` +
        "show. It is kept and will be sent, without a thumbnail here.",
    );
  }
  return {
    content_type: format.content_type,
    // A size of 0 is not one.
    width_px: facts.width_px || null,
    height_px: facts.height_px || null,
    trouble,
    warnings,
    makesThumbnail: !isHuge,
  };
}

/** @param {Uint8Array} bytes */
function recognise(bytes) {
  for (const format of FORMATS) {
    const facts = format.read(bytes);
    if (facts) return { format, facts };
  }
  return null;
}
