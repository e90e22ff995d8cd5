/** One way to write: a transaction that is either wholly on the disk or not there at all. */

import { signal } from "../vendor/ui.js";
import { db } from "./database.js";

/** The tablet has no room left. Nothing of the write was kept; the message says what to do. */
export class StorageFull extends Error {
  constructor() {
    super(
      "This tablet has no room left, so the last change is not saved yet. What you typed is still " +
        "in its field: leave the screen open. Free space on the Sync screen, or delete other " +
        "files on the tablet, then change the field again.",
    );
    this.name = "StorageFull";
  }
}

/** Why the last write was not kept, in a sentence; null once a write was kept again. */
export const saveTrouble = signal(/** @type {string | null} */ (null));

/**
 * Runs the work in one transaction over all tables.
 *
 * @template T
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}  resolves when the work is durable
 * @throws {StorageFull | Error} with a sentence for the person; nothing was kept then
 */
export async function durably(work) {
  try {
    // Dexie follows awaits only in functions that are async themselves.
    const result = await db.transaction("rw", db.tables, async () => work());
    saveTrouble.value = null;
    return result;
  } catch (error) {
    const told = isFull(error) ? new StorageFull() : error;
    saveTrouble.value = told instanceof Error ? told.message : String(told);
    throw told;
  }
}

/** Browsers wrap the reason in the failure of the whole transaction. @param {any} error */
export function isFull(error) {
  for (let reason = error; reason; reason = reason.inner) {
    if (reason.name === "QuotaExceededError") return true;
  }
  return false;
}
