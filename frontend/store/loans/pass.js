/**
 * A courier's pass on this device: how it is opened, when it ends, and what then becomes of what
 * it brought here.
 */

import { effect } from "../../vendor/ui.js";
import { db, readSetting, TABLES, writeSetting } from "../database.js";
import { durably } from "../durable.js";
import { ask, serverTime, ServerTrouble } from "../server.js";
import { needsSignIn, openPass, passEnd, session } from "../session.js";
import { filesToSend } from "../space.js";

/** @import { Entity, PassEnd, Session } from "../types.js" */

const TOKEN_BYTES = 32;
/** A pass as the desk shows it: an address that ends in it, or the bare words. */
const PASS = /(?:^|#\/pass\/)([\w-]{20,100})$/;
/** How long a timer can be set for in every browser, ms. */
const LONGEST_TIMER_MS = 2 ** 31 - 1;

/** The pass in what was read from a code or pasted; null when there is none. @param {string} text */
export function passIn(text) {
  return PASS.exec(text.trim())?.[1] ?? null;
}

/** 32 bytes that nobody can guess, in Base64 for addresses (RFC 4648). */
export function newToken() {
  const bytes = crypto.getRandomValues(new Uint8Array(TOKEN_BYTES));
  const text = btoa(String.fromCharCode(...bytes));
  return text.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

/**
 * Keeps a pass to be opened, with the token that this device will sign its requests with: should
 * the answer be lost, the same device asks again with the same token and is let in.
 *
 * @param {string} pass
 */
export async function keepPass(pass) {
  await db.transaction("rw", db.settings, async () => {
    const kept = await readPasses();
    const device_token = kept.find((each) => each.pass === pass)?.device_token ?? newToken();
    const others = kept.filter((each) => each.pass !== pass);
    await writeSetting("passes", [...others, { pass, device_token, isOpened: false }]);
  });
}

/** The pass that was kept last and is not opened here yet; null when there is none. */
export async function passToOpen() {
  const last = (await readPasses()).at(-1);
  return last && !last.isOpened && last.device_token !== session.value?.token ? last.pass : null;
}

/**
 * Opens the pass that was kept last. Whoever was signed in here is signed out.
 *
 * @param {string} device_name
 * @returns {Promise<string>}  the loan's key
 * @throws {ServerTrouble} its message says why it did not open
 */
export async function openKept(device_name) {
  const last = (await readPasses()).at(-1);
  if (!last) throw new Error("There is no pass to open. Scan its code, or open its link again.");
  const { pass, device_token } = last;
  const before = session.value;
  try {
    await openPass({ token: pass, device_token, device_name });
  } catch (trouble) {
    // However often it is asked again, this pass opens nothing here.
    if (isRefused(trouble)) await putAway(pass);
    throw trouble;
  }
  // Kept for longer than it opens anything: its link may be opened here again.
  await writeSetting("passes", [...(await readPasses()).slice(0, -1), { ...last, isOpened: true }]);
  if (before && !before.loan) {
    await ask("/api/sign-out", { method: "POST", token: before.token }).catch(() => undefined);
  }
  return session.value?.loan ?? "";
}

/** Whether the server said that a pass does not open here. @param {unknown} trouble */
export function isRefused(trouble) {
  return trouble instanceof ServerTrouble && trouble.kind === "refused";
}

/** Puts away a pass that is not to be opened here. @param {string} pass */
export async function putAway(pass) {
  const kept = await readPasses();
  await writeSetting("passes", kept.filter((each) => each.pass !== pass));
}

/** @returns {Promise<{pass: string, device_token: string, isOpened: boolean}[]>} */
async function readPasses() {
  return (await readSetting("passes")) ?? [];
}

/**
 * Whether a pass is over. The device's clock says so, or the server's when it was last heard: a
 * clock that was set back does not open it again.
 *
 * @param {string} expires_at
 * @param {number} now  ms by the device's clock
 * @param {number} heard  ms by the server's
 */
export function isOver(expires_at, now, heard) {
  return Math.max(now, heard) >= Date.parse(expires_at);
}

let isWatching = false;

/** Watches from now on for the end of the pass by which this device works. */
export async function watchEnd() {
  if (isWatching) return;
  isWatching = true;
  serverTime.value = Math.max(serverTime.peek(), (await readSetting("server_time")) ?? 0);
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const look = () => {
    clearTimeout(timer);
    const by = session.peek();
    if (!by?.loan || passEnd.peek()) return;
    const left = Date.parse(by.expires_at) - Date.now();
    if (isOver(by.expires_at, Date.now(), serverTime.peek())) endPass("over").catch(console.error);
    else timer = setTimeout(look, Math.min(left, LONGEST_TIMER_MS));
  };
  // A timer may sleep with the device.
  document.addEventListener("visibilitychange", look);
  effect(() => {
    const heard = serverTime.value;
    if (session.value?.loan) writeSetting("server_time", heard).catch(console.error);
    look();
  });
}

/**
 * The pass is at its end. Nothing is taken away before all is sent.
 *
 * @param {PassEnd["why"]} why
 * @param {string} [said]  the server's words
 * @param {string | null} [ended_at]  when it ended, where the server says so
 */
export async function endPass(why, said = "", ended_at = null) {
  const by = session.value;
  if (!by?.loan) return;
  const loan = await db.loans.get(by.loan);
  /** @type {PassEnd} */
  const ended = {
    why,
    said,
    at: ended_at ?? (why === "over" ? by.expires_at : new Date().toISOString()),
    had: loan ? `${loan.reference} ${loan.title}` : "",
  };
  await writeSetting("pass_end", ended);
  passEnd.value = ended;
  needsSignIn.value = true;
}

/**
 * The server does not take the pass any more: its time is over, by the end that the server has now,
 * or it was withdrawn before.
 *
 * @param {ServerTrouble} trouble
 */
export async function endRefused({ message, ended_at }) {
  await endPass(ended_at ? "over" : "withdrawn", message, ended_at);
}

/** The server may have moved the end of the pass. @param {string | null} [expires_at] */
export async function noteEnd(expires_at) {
  const by = session.value;
  if (!by?.loan || !expires_at || expires_at === by.expires_at) return;
  /** @type {Session} */
  const moved = { ...by, expires_at };
  await writeSetting("session", moved);
  session.value = moved;
}

/**
 * Asks the server whether the pass holds after all: its end may have been moved, and the device's
 * clock may have been wrong.
 *
 * @returns {Promise<boolean>}
 * @throws {ServerTrouble} when it cannot be asked
 */
export async function askAgain() {
  const by = session.value;
  if (!by?.loan) return false;
  try {
    const { body } = await ask("/api/sync/pull?cursor=0&limit=1", { token: by.token });
    await db.settings.delete("pass_end");
    await noteEnd(body.expires_at);
    passEnd.value = null;
    needsSignIn.value = false;
    return true;
  } catch (trouble) {
    if (!(trouble instanceof ServerTrouble) || trouble.kind !== "sign-in") throw trouble;
    await endRefused(trouble);
    return false;
  }
}

/**
 * Gives the pass back: it opens nothing any more, here or elsewhere.
 *
 * @returns {Promise<boolean>}  false while something is not sent
 * @throws {ServerTrouble | Error} when the server cannot be told; then all stays as it is
 */
export async function endHere() {
  const by = session.value;
  if (!by?.loan || !(await isAllSent())) return false;
  await ask("/api/sign-out", { method: "POST", token: by.token });
  await db.settings.delete("passes");
  return clearAway();
}

async function isAllSent() {
  const [waiting, files] = await Promise.all([db.outbox.count(), filesToSend()]);
  return waiting + files.length === 0;
}

/**
 * Takes what the pass brought off this device, once all is sent.
 *
 * @returns {Promise<boolean>}  false while something is not
 */
export async function clearAway() {
  return durably(async () => {
    if (!(await isAllSent())) return false;
    for (const entity of /** @type {Entity[]} */ (Object.keys(TABLES))) {
      await db.table(TABLES[entity]).clear();
    }
    for (const table of [db.questions, db.originals, db.uploads, db.thumbnails, db.previews]) {
      await table.clear();
    }
    const gone = ["session", "pull", "was_whole", "scope", "place", "route", "carried_loans", "absent_pictures"];
    const drafts = await db.settings.where("key").startsWith("drafts:").primaryKeys();
    await db.settings.bulkDelete([...gone, ...drafts]);
    return true;
  }).then((isGone) => {
    if (isGone) {
      session.value = null;
      needsSignIn.value = false;
    }
    return isGone;
  });
}
