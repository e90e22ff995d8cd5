/**
 * Keeps Chromium from emptying the database after a write that broke off in the middle.
 *
 * Chromium keeps all databases of an address in one LevelDB, which appends what is written to a
 * log. When the browser is killed in the middle of a large entry, half an entry stays at the end.
 * The next start passes over it and appends behind it. The start after that takes what was
 * appended for the rest of the half entry, so that it is lost, or, once there is more of it than
 * was missing, takes the log for damaged and empties the database (tests/browser/test_torn_log.py).
 *
 * So each start deletes a database that nobody needs. Chromium compacts after a deletion
 * (kDeferredWithCompaction in its IndexedDB code), and LevelDB begins a compaction by putting all
 * that stands in its log into a table (DBImpl::CompactRange); then it deletes the log, torn or
 * not, and goes on in a new one. To fill the log up to the 4 MiB where it ends by itself takes
 * longer, and room. What remains: a browser that is killed twice, in the middle of a write and then
 * in the fraction of a second between the next start and its new log.
 */

const NAME = "fieldleaf-new-log";

/** Chromium compacts after it has reported the deletion: 0.1 s on an idle computer. */
const COMPACTING_MS = 500;

/** A window that the system has frozen may hold the database above for as long as it likes. */
const PATIENCE_MS = 3000;

/** Resolves when the log is a new one, or none can be begun now. It never rejects. */
export const wholeLog = isChromium()
  ? Promise.race([beginNewLog().catch(console.warn), pause(PATIENCE_MS)])
  : Promise.resolve();

function isChromium() {
  // Other engines keep their databases otherwise. Not in the types: only Chromium has it.
  return "userAgentData" in globalThis.navigator;
}

async function beginNewLog() {
  // What does not exist is deleted without a trace in the log.
  (await ended(indexedDB.open(NAME))).close();
  await ended(indexedDB.deleteDatabase(NAME));
  await pause(COMPACTING_MS);
}

/**
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
function ended(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {number} milliseconds @returns {Promise<void>} */
function pause(milliseconds) {
  return new Promise((resolve) => setTimeout(resolve, milliseconds));
}
