/**
 * A list outside the database of what is not sent yet, with a count of what was: should the
 * browser clear the database, it still tells what is with the server and what is not.
 *
 * It lies in localStorage, one entry an item, so that only what changed is written; the counts
 * alone lie in a cookie as well. Browsers write localStorage to the disk some seconds later
 * (Chromium) and may clear it along with the database (WHATWG Storage Standard, section 5:
 * clearing a bucket takes all of it). It is a help after a loss, and no second store.
 */

import { readSetting } from "../store/database.js";
import { CLEARED, COUNTS } from "./cleared.js";
import { describeChange, describeFile } from "./unsent.js";

/** @import { Change } from "../store/types.js" */
/** @import { Item } from "./unsent.js" */

/**
 * @typedef {{changes: number, photographs: number, last: string | null}} Sent
 *
 * arrived  whether the server has it after all; null until it was asked
 * @typedef {Item & {
 *   kind: "change" | "photograph",
 *   id: string,
 *   person?: string,
 *   size_bytes?: number,
 *   arrived: boolean | null,
 * }} Unsent
 *
 * What the browser cleared. `unsent` is null when it cleared the list too; then `counts` has
 * what the cookie said.
 * @typedef {{
 *   found_at: string,
 *   sent: Sent,
 *   unsent: Unsent[] | null,
 *   counts: {changes: number, photographs: number},
 * }} Clearing
 */

const ITEM = "fieldleaf-unsent-";
const SENT = "fieldleaf-sent";
const COOKIE_SECONDS = 400 * 24 * 60 * 60;

/** What each entry was last written for. @type {Map<string, string>} */
const written = new Map();

/**
 * Brings the list in line with the database.
 *
 * @param {Change[]} changes  not acknowledged
 * @param {{sha256: string, size_bytes: number}[]} files  not sent
 */
export async function keepLedger(changes, files) {
  // Without its name it is a new one, made since the browser cleared the one this window opened:
  // the list of what was in that one must stay for the next start.
  if (!(await readSetting("database"))) return;
  const now = new Set();
  for (const change of changes) {
    const key = `${ITEM}change-${change.id}`;
    now.add(key);
    await write(key, change.at, () => describeChange(change));
  }
  for (const { sha256, size_bytes } of files) {
    const key = `${ITEM}photograph-${sha256}`;
    now.add(key);
    await write(key, sha256, async () => ({ ...(await describeFile(sha256)), size_bytes }));
  }
  for (const key of itemKeys()) if (!now.has(key)) forget(key);
  writeCounts(changes.length, files.length);
}

/** Counts what the server has acknowledged. @param {Partial<Sent>} more */
export function noteSent({ changes = 0, photographs = 0 }) {
  if (changes + photographs === 0) return;
  const sent = readSent();
  put(SENT, {
    changes: sent.changes + changes,
    photographs: sent.photographs + photographs,
    last: new Date().toISOString(),
  });
}

/** The database is gone: puts what was known of it aside for the person to read. */
export function closeLedger() {
  const keys = itemKeys();
  const cookie = readCounts();
  const sent = localStorage.getItem(SENT) === null ? cookie.sent : readSent();
  const isListCleared = localStorage.getItem(SENT) === null && keys.length === 0;
  const unsent = keys.map(
    (key) => /** @type {Unsent} */ ({ ...idOf(key), ...parsed(key), arrived: null }),
  );
  unsent.sort((a, b) => a.object.localeCompare(b.object) || a.when - b.when);
  /** @type {Clearing} */
  const clearing = {
    found_at: new Date().toISOString(),
    sent,
    unsent: isListCleared && cookie.changes + cookie.photographs > 0 ? null : unsent,
    counts: cookie,
  };
  keepClearings([...clearings(), clearing]);
  keys.forEach(forget);
  localStorage.removeItem(SENT);
  writeCounts(0, 0);
}

/** What was cleared and is not put away yet, the first first. @returns {Clearing[]} */
export function clearings() {
  return parsed(CLEARED) ?? [];
}

/** @param {Clearing[]} all */
export function keepClearings(all) {
  put(CLEARED, all);
}

/** @param {string} key @param {string} stamp @param {() => Promise<object>} describe */
async function write(key, stamp, describe) {
  if (written.get(key) === stamp) return;
  put(key, await describe());
  written.set(key, stamp);
}

/** @param {string} key */
function forget(key) {
  localStorage.removeItem(key);
  written.delete(key);
}

function itemKeys() {
  return Object.keys(localStorage).filter((key) => key.startsWith(ITEM));
}

/** @param {string} key */
function idOf(key) {
  const [kind, ...id] = key.slice(ITEM.length).split("-");
  return { kind, id: id.join("-") };
}

/** @returns {Sent} */
function readSent() {
  return parsed(SENT) ?? { changes: 0, photographs: 0, last: null };
}

/** @param {number} changes @param {number} photographs  not sent */
function writeCounts(changes, photographs) {
  const sent = readSent();
  const last = sent.last ? Date.parse(sent.last) : 0;
  const counts = [changes, photographs, sent.changes, sent.photographs, last].join(".");
  document.cookie = `${COUNTS}=${counts}; path=/field/; max-age=${COOKIE_SECONDS}; SameSite=Strict`;
}

/** @returns {{changes: number, photographs: number, sent: Sent}} */
function readCounts() {
  const found = new RegExp(`${COUNTS}=([\\d.]+)`).exec(document.cookie)?.[1] ?? "0.0.0.0.0";
  const [changes, photographs, sentChanges, sentPhotographs, last] = found.split(".").map(Number);
  return {
    changes,
    photographs,
    sent: {
      changes: sentChanges,
      photographs: sentPhotographs,
      last: last ? new Date(last).toISOString() : null,
    },
  };
}

/** @param {string} key */
function parsed(key) {
  return JSON.parse(localStorage.getItem(key) ?? "null");
}

/** A full localStorage loses a line of the list, never work. @param {string} key @param {unknown} value */
function put(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch (error) {
    console.error(error);
  }
}
