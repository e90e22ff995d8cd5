/** The check of a shot in a thread of its own: a photograph in, what to tell the person out. */

import { judge, look, shrinkage, shrinkInto } from "./shot-check.js";

/** Read from the canvas at a time, so that a large photograph needs little memory. */
const STRIP_PX = 512;

/**
 * @param {Blob} photograph
 * @param {string} light
 * @returns {Promise<import("../store/types.js").ShotCheck | null>}  null when this browser cannot
 *   decode it, or when it is too small
 */
async function check(photograph, light) {
  const picture = await createImageBitmap(photograph).catch(() => null);
  if (!picture) return null;
  const by = shrinkage(picture.width, picture.height);
  if (by === 0) return null;
  const [width, height] = [Math.floor(picture.width / by), Math.floor(picture.height / by)];
  const grey = new Float32Array(width * height);
  const strip = Math.floor(STRIP_PX / by);
  const canvas = new OffscreenCanvas(width * by, strip * by);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  if (!context) return null;
  for (let top = 0; top < height; top += strip) {
    const rows = Math.min(strip, height - top);
    context.drawImage(picture, 0, -top * by);
    const { data } = context.getImageData(0, 0, width * by, rows * by);
    shrinkInto(data, width * by, by, grey, top * width);
  }
  picture.close();
  return judge(look(grey, width, height), light);
}

addEventListener("message", async ({ data: { photograph, light } }) => {
  postMessage(await check(photograph, light));
});
