/** One way to write: a transaction that is either wholly on the disk or not there at all. */

import { signal } from "../vendor/ui.js";
import { db } from "./database.js";
import { otherVersion } from "./other-versions.js";
import { wholeLog } from "./whole-log.js";

/** The tablet has no room left. Nothing of the write was kept; the message says what to do. */
export class StorageFull extends Error {
  constructor() {
    super(
      "This device has no room left, so the last change is not saved yet. What you typed is still " +
        "in its field: leave the screen open. Free space on the Sync screen, or delete other " +
        "files on the device, then change the field again.",
    );
    this.name = "StorageFull";
  }
}

/** Why the last write was not kept, in a sentence; null once a write was kept again. */
export const saveTrouble = signal(/** @type {string | null} */ (null));

/**
 * Runs the work in one transaction over all tables, once the app's start has seen to the log.
 *
 * @template T
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}  resolves when the work is durable
 * @throws {StorageFull | Error} with a sentence for the person; nothing was kept then
 */
export async function durably(work) {
  await wholeLog;
  try {
    // Dexie follows awaits only in functions that are async themselves.
    const result = await db.transaction("rw", db.tables, async () => work());
    saveTrouble.value = null;
    return result;
  } catch (error) {
    const told = inASentence(error);
    saveTrouble.value = told.message;
    // A database that the browser closed after a failure is opened again by the next write.
    if (!db.isOpen()) db.close({ disableAutoOpen: false });
    throw told;
  }
}

/** @param {any} error  what the work or the browser's database threw @returns {Error} */
function inASentence(error) {
  if (isFull(error)) return new StorageFull();
  // Refusals of this app's own, which are sentences already.
  if (error.name === "Error") return error;
  if (otherVersion.value) {
    return new Error(
      "This window saves nothing more, because a newer Fieldleaf is open on this device. What you " +
        "typed last is still in its field: copy it, load Fieldleaf again, and put it in there.",
    );
  }
  console.error(error);
  return new Error(
    `The device could not keep the last change (${error.name}). What you typed is still in its ` +
      "field: leave the screen open and change the field again. If that does not help, free some " +
      "space on the device, or close Fieldleaf and open it again.",
  );
}

/** How browsers say that there is no room: by name, or only in the text of a failed write. */
const FULL = /QuotaExceeded|NO_SPACE|Failed to write blobs/;

/** The reason may be wrapped in the failure of the whole transaction. @param {any} error */
function isFull(error) {
  for (let reason = error; reason; reason = reason.inner) {
    if (FULL.test(reason.name) || FULL.test(reason.message)) return true;
  }
  return false;
}
