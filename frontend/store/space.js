/** Room on the tablet: asking the browser to keep it, measuring it, giving some back. */

import Dexie from "../vendor/dexie.js";
import { db, sendingOf } from "./database.js";
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

/**
 * Room used and allowed, in bytes, 0 when not known, and how many more photographs of the size
 * that is usual on this tablet will go in, null when not known.
 *
 * @returns {Promise<{usage: number, quota: number, roomFor: number | null}>}
 */
export async function measureSpace() {
  const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  if (quota === 0) return { usage, quota, roomFor: null };
  const left = Math.max(0, quota - usage);
  return { usage, quota, roomFor: Math.floor(left / (await usualSize())) };
}

/** A tablet camera's JPEG of 12 megapixels, in bytes; from memory. Used before the first shot. */
const USUAL_SIZE = 5_000_000;

/** The mean size of the photographs taken on this tablet, in bytes. */
async function usualSize() {
  let files = 0;
  let size = 0;
  await db.uploads.orderBy("[sent+size_bytes]").eachKey((key) => {
    files += 1;
    size += /** @type {[number, number]} */ (/** @type {unknown} */ (key))[1];
  });
  return files ? size / files : USUAL_SIZE;
}

/** Files that are still to be sent, or that the server has; the smallest first. @param {0 | 1} sent */
export function sendings(sent) {
  return db.uploads
    .where("[sent+size_bytes]")
    .between([sent, Dexie.minKey], [sent, Dexie.maxKey]);
}

/**
 * Photographs whose files are still to be sent, the smallest first.
 *
 * @returns {Promise<{sha256: string, size_bytes: number}[]>}
 */
export async function filesToSend() {
  /** @type {{sha256: string, size_bytes: number}[]} */
  const files = [];
  await sendings(0).eachKey((key, { primaryKey }) => {
    const [, size_bytes] = /** @type {[number, number]} */ (/** @type {unknown} */ (key));
    files.push({ sha256: String(primaryKey), size_bytes });
  });
  return files;
}

/**
 * Takes up photographs whose sending nobody keeps: a window of the first version of the app,
 * left open beside a newer one, writes a file without it.
 *
 * @returns {Promise<number>}  how many were taken up
 */
export async function takeUpFiles() {
  const [files, known] = await Promise.all([
    db.originals.toCollection().primaryKeys(),
    db.uploads.toCollection().primaryKeys(),
  ]);
  const kept = new Set(known);
  const missing = files.filter((sha256) => !kept.has(sha256));
  for (const original of await db.originals.bulkGet(missing)) {
    if (original) await durably(() => db.uploads.put(sendingOf(original)));
  }
  return missing.length;
}

/**
 * Removes the originals that the server has verified. Their thumbnails stay.
 *
 * @returns {Promise<number>}  bytes given back
 */
export function freeSent() {
  return durably(async () => {
    let freed = 0;
    await (await sentFiles()).modify((original) => {
      if (original.blob) freed += original.size_bytes;
      original.blob = null;
    });
    return freed;
  });
}

/** Originals that the server has verified and that still take up room here; size in bytes. */
export async function sentOriginals() {
  let files = 0;
  let size = 0;
  await (await sentFiles()).each(({ blob, size_bytes }) => {
    if (!blob) return;
    files += 1;
    size += size_bytes;
  });
  return { files, size };
}

async function sentFiles() {
  return db.originals.where("sha256").anyOf(await sendings(1).primaryKeys());
}
