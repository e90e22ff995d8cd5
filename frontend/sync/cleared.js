/**
 * Notices at the start that the browser has cleared the database. Kept small: it runs before
 * the first screen. What was in the database is told by ledger.js.
 */

import { signal } from "../vendor/ui.js";
import { readSetting, writeSetting } from "../store/database.js";
import { newId } from "../store/ids.js";

/** Where the lists of cleared work are kept until the person has read them. */
export const CLEARED = "fieldleaf-cleared";

/** Names the database that was here last, outside of it. */
const MARK = "fieldleaf-database";

/** A few counts in a cookie: WebKit's storage policy clears localStorage with the database. */
export const COUNTS = "fieldleaf-counts";

/** True while there is a list of cleared work that the person has not put away. */
export const hasCleared = signal(localStorage.getItem(CLEARED) !== null);

/**
 * Compares the database with the mark outside it. Goes by the database's own name and not by
 * whether it is empty: a window that stays open while it is cleared may write to a new one.
 *
 * @returns {Promise<boolean>}  true when the database is not the one that was here before
 */
export async function noticeClearing() {
  // The mark is read first and written last, so that two windows at the first start agree.
  const mark = localStorage.getItem(MARK);
  const wasHere = mark !== null || document.cookie.includes(`${COUNTS}=`);
  const kept = await readSetting("database");
  const isCleared = !kept && wasHere;
  if (isCleared) {
    const { closeLedger } = await import("./ledger.js");
    closeLedger();
    hasCleared.value = true;
  }
  const id = kept ?? newId();
  if (!kept) await writeSetting("database", id);
  if (mark !== id) localStorage.setItem(MARK, id);
  return isCleared;
}
