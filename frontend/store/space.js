/** Room on the tablet: asking the browser to keep it, measuring it, giving some back. */

import Dexie from "../vendor/dexie.js";
import { db } from "./database.js";
import { durably } from "./durable.js";

/**
 * Asks the browser never to clear the app's storage by itself.
 *
 * @returns {Promise<boolean | null>}  null when the browser cannot say
 */
export async function askToPersist() {
  if (!navigator.storage?.persist) return null;
  return (await navigator.storage.persisted()) || (await navigator.storage.persist());
}

/** @returns {Promise<{usage: number, quota: number}>} in bytes; 0 when not known */
export async function measureSpace() {
  const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  return { usage, quota };
}

/**
 * Photographs whose files are still to be sent, the smallest first.
 *
 * @returns {Promise<{sha256: string, size_bytes: number}[]>}
 */
export async function filesToSend() {
  const waiting = db.originals
    .where("[sent+size_bytes]")
    .between([0, Dexie.minKey], [0, Dexie.maxKey]);
  /** @type {{sha256: string, size_bytes: number}[]} */
  const files = [];
  // Over the index only: the files themselves stay on the disk.
  await waiting.eachKey((key, { primaryKey }) => {
    const [, size_bytes] = /** @type {[number, number]} */ (/** @type {unknown} */ (key));
    files.push({ sha256: String(primaryKey), size_bytes });
  });
  return files;
}

/**
 * Removes the originals that the server has verified. Their thumbnails stay.
 *
 * @returns {Promise<number>}  bytes given back
 */
export function freeSent() {
  return durably(async () => {
    let freed = 0;
    await db.originals
      .where("[sent+size_bytes]")
      .between([1, Dexie.minKey], [1, Dexie.maxKey])
      .modify((original) => {
        if (original.blob) freed += original.size_bytes;
        original.blob = null;
      });
    return freed;
  });
}
