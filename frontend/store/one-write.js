/**
 * One write at a time, whatever tables it is for.
 *
 * A browser lets writes to different tables run at once. When Chromium is killed while two run, it
 * finds both half done at the next start, takes the database's lock for each alone, though writes
 * share it, and concludes from the second that the database is damaged: it empties it ("Invalid
 * locks on disk" in LevelDBScopes::Initialize of its IndexedDB code; tests/browser/test_torn_log.py).
 * A table that all writes share makes the browser itself run them one after another, those of other
 * windows too.
 */

/** @import Dexie from "../vendor/dexie.js" */

const SHARED = "settings";

/** @param {Dexie} db  before it is opened */
export function oneWriteAtATime(db) {
  db.use({
    stack: "dbcore",
    name: "one write at a time",
    create: (core) => ({
      ...core,
      transaction: (tables, mode, options) =>
        core.transaction(
          mode === "readwrite" ? [...new Set([...tables, SHARED])] : tables,
          mode,
          options,
        ),
    }),
  });
}
