/**
 * Two versions of the app at one database, in two windows of a tablet or one after the other.
 * Only the newest writes: an older one lets go of the database and says so, and never hangs.
 */

import { signal } from "../vendor/ui.js";

/** @import Dexie from "../vendor/dexie.js" */

/**
 * replaced  a newer version has taken the database over while this one was open
 * too-old   the database was made by a newer version
 * waiting   another window with an older version has not let go of the database yet
 */
export const otherVersion = signal(/** @type {"replaced" | "too-old" | "waiting" | null} */ (null));

/** A write that is under way when a newer version asks has this long to end, in milliseconds. */
const LET_GO_AFTER_MS = 500;

/** @param {Dexie} db  not opened yet */
export function keepVersionsApart(db) {
  const newest = db.verno;

  db.on("versionchange", (event) => {
    if (event.newVersion === null) return undefined; // Deleted: the library lets go by itself.
    otherVersion.value = "replaced";
    setTimeout(() => db.close(), LET_GO_AFTER_MS);
    return false; // The library would let go at once, and come back at the next write.
  });

  db.on("blocked", () => {
    otherVersion.value = "waiting";
  });

  const check = () => {
    // The browser counts ten for each version, and the odd one for repairs by the library.
    if (db.backendDB().version >= 10 * (newest + 1)) {
      otherVersion.value ??= "too-old";
      throw new Error("This database was made by a newer version of Fieldleaf.");
    }
    if (otherVersion.value === "waiting") otherVersion.value = null;
  };
  db.on("ready", check, true);
}
