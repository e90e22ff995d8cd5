/**
 * Has a shot checked beside the page, after it was saved, and keeps what the check says. One shot
 * is looked at after the other, so that many chosen at once do not fill the memory.
 */

import { noteShotCheck } from "./write.js";

/** @import { ShotCheck } from "./types.js" */

const WORKER = "/field/imaging/shot-check-worker.js";
/** A thread that has not answered by then has failed: some end without a word. */
const LONGEST_MS = 20_000;

/** @type {Promise<unknown>} */
let before = Promise.resolve();

/**
 * @param {string} id  of the photograph
 * @param {string} light
 * @param {Blob} photograph
 * @returns {Promise<ShotCheck | null>}  null when nothing can be said: the picture cannot be
 *   decoded here or is too small, or this browser cannot look
 */
export function checkShot(id, light, photograph) {
  const check = before.then(async () => {
    const found = await lookAt(light, photograph);
    if (found) await noteShotCheck(id, found);
    return found;
  });
  before = check.catch(() => null);
  return check;
}

/** @param {string} light @param {Blob} photograph @returns {Promise<ShotCheck | null>} */
function lookAt(light, photograph) {
  return new Promise((resolve) => {
    const worker = new Worker(WORKER, { type: "module" });
    const end = (/** @type {ShotCheck | null} */ found) => {
      clearTimeout(timer);
      worker.terminate();
      resolve(found);
    };
    const timer = setTimeout(() => end(null), LONGEST_MS);
    worker.addEventListener("message", ({ data }) => end(data));
    worker.addEventListener("error", () => end(null));
    worker.postMessage({ light, photograph });
  });
}
