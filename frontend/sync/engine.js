/**
 * Keeps tablet and server in step, in the background: it sends the records first, then fetches,
 * then brings the pictures of the loans that are carried, then sends photographs, which never hold
 * the records up. Work on the tablet never waits for it.
 */

import { liveQuery } from "../vendor/dexie.js";
import { effect } from "../vendor/ui.js";
import { hasCleared } from "./cleared.js";
import { db, readSetting, writeSetting } from "../store/database.js";
import { carriedLoans } from "../store/loans/carried.js";
import { endRefused, noteEnd, watchEnd } from "../store/loans/pass.js";
import { checkResent } from "../store/loans/signing.js";
import { sendRefusedAgain } from "../store/outbox.js";
import { ServerTrouble } from "../store/server.js";
import { needsSignIn, session } from "../store/session.js";
import { askToPersist, filesToSend, measureSpace, takeUpFiles } from "../store/space.js";
import { refreshVocabulary } from "../store/vocabulary.js";
import { carryPictures } from "./carry-pictures.js";
import { checkClearings } from "./clearings.js";
import { held, sendAnyway } from "./holding.js";
import { keepLedger, noteSent } from "./ledger.js";
import { findMatters } from "./needs-you.js";
import { sendPhotographs } from "./photographs.js";
import { pull } from "./pull.js";
import { push, reopenUnanswered } from "./push.js";
import { syncState } from "./state.js";

/** @import { Session } from "../store/types.js" */
/** @import { Matter } from "./needs-you.js" */
/** @import { SyncState } from "./state.js" */

const EVERY_MS = 30_000;
const LONGEST_PAUSE_MS = 10 * 60_000;
const COUNT_AFTER_MS = 300;
/** A record goes when the person has paused for so long: not one change for each key. */
const SEND_AFTER_MS = 2000;

/** @param {Partial<SyncState>} news */
function tell(news) {
  syncState.value = { ...syncState.peek(), ...news };
}

/** Begins to watch and to send. Call it once, after the first screen is up. */
export async function startSync() {
  await takeUpFiles().catch((error) => console.error(error));
  await watchEnd();
  watchWhatWaits();
  addEventListener("online", () => {
    tell({ online: true });
    attemptAfresh();
  });
  addEventListener("offline", () => tell({ online: false }));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") attemptAfresh();
  });
  setInterval(() => {
    const { records, photographs } = syncState.value;
    if (records + photographs > 0 || problems.has("pictures")) attempt();
  }, EVERY_MS);
  tell({ lastSentAt: (await readSetting("last_sent_at")) ?? null });
  let person = session.value?.person.id;
  effect(() => {
    if (!session.value || needsSignIn.value) return;
    const another = session.value.person.id;
    // Whoever signs in may bring what somebody else's refused changes were waiting for.
    if (another !== person) sendRefusedAgain();
    person = another;
    queueMicrotask(attemptAfresh);
  });
  effect(() => {
    tell({ held: held.value });
    if (held.value) stopFiles.abort();
    else queueMicrotask(attemptAfresh);
  });
  tell({ persisted: await askToPersist(), ...(await measureSpace()) });
}

/**
 * Sends and fetches now. Never throws: how it went stands in syncState.
 *
 * @returns {Promise<void>} when nothing more can be done for now
 */
export async function syncNow() {
  if (!session.value) return;
  if (needsSignIn.value) {
    tell({ problem: "Sign in again to send. Your work is saved here and you can go on." });
    return;
  }
  await run("records");
  await run("pictures");
  await run("photographs");
}

/** Brings the pictures of the loans that are carried now. Never throws; see syncNow. */
export async function carryNow() {
  if (session.value && !needsSignIn.value) await run("pictures");
}

/** As syncNow, but only if there is any hope, and not while a part that failed is at rest. */
async function attempt() {
  if (mayBeTried("records")) await run("records");
  if (mayBeTried("pictures")) await run("pictures");
  if (mayBeTried("photographs")) await run("photographs");
}

/** Something has changed: what failed before may well succeed now. */
function attemptAfresh() {
  rests.clear();
  return attempt();
}

/** @param {Part} part */
function mayBeTried(part) {
  const isResting = Date.now() < (rests.get(part)?.until ?? 0);
  return navigator.onLine && session.value && !needsSignIn.value && !isResting;
}

/** @param {Session} by */
async function inStep(by) {
  await reopenUnanswered();
  await checkResent();
  await push(by, (changes) => noteSent({ changes }));
  await refreshVocabulary(by.token);
  await noteEnd(await pull(by.token, (done) => tell({ progress: { done, total: null } })));
  if (hasCleared.value) await checkClearings(by.token);
}

/** Stops the photographs that are being sent. */
let stopFiles = new AbortController();

/** @param {Session} by */
async function sendFiles(by) {
  if (held.value) return;
  stopFiles = new AbortController();
  if ((await filesToSend()).length) {
    await sendPhotographs(by.token, {
      stop: stopFiles.signal,
      onSent: (photographs) => {
        noteSent({ photographs });
        if (photographs) tellSent();
      },
    });
  }
  if (!stopFiles.signal.aborted) sendAnyway.value = false;
}

/** @param {Session} by */
async function fetchPictures(by) {
  if (by.loan || (await carriedLoans()).length || (await db.previews.count())) await carryPictures(by.token);
}

/** @typedef {"records" | "pictures" | "photographs"} Part */

/** @type {Record<Part, (by: Session) => Promise<void>>} */
const WORK = { records: inStep, pictures: fetchPictures, photographs: sendFiles };

/** What runs at present. @type {Map<Part, Promise<void>>} */
const running = new Map();

/** Why the last attempt at a part failed. @type {Map<Part, string>} */
const problems = new Map();

/** Parts that failed, how often in a row, and until when they rest. @type {Map<Part, {failures: number, until: number}>} */
const rests = new Map();

/**
 * Runs one part, unless it runs already, in this tab or in another one.
 *
 * @param {Part} part
 * @returns {Promise<void>}
 */
function run(part) {
  const underWay = running.get(part);
  if (underWay) return underWay;
  const now = navigator.locks
    .request(`fieldleaf-${part}`, { ifAvailable: true }, async (lock) => {
      if (lock) await tried(part);
      // Another tab does the work for both, and says there how it goes.
      else problems.delete(part);
    })
    .finally(() => {
      running.delete(part);
      const [problem = null] = problems.values();
      tell({
        busy: running.size > 0,
        carrying: running.has("pictures"),
        picturesProblem: problems.get("pictures") ?? null,
        progress: null,
        problem,
      });
    });
  running.set(part, now);
  tell({ busy: true, carrying: running.has("pictures") });
  return now;
}

/** @param {Part} part */
async function tried(part) {
  const by = session.value;
  if (!by) return;
  try {
    await WORK[part](by);
    problems.delete(part);
    rests.delete(part);
    tell({ online: true });
    if (part === "records") await tellSent();
  } catch (error) {
    problems.set(part, error instanceof Error ? error.message : String(error));
    const failures = (rests.get(part)?.failures ?? 0) + 1;
    const pause = Math.min(EVERY_MS * 2 ** (failures - 1), LONGEST_PAUSE_MS);
    rests.set(part, { failures, until: Date.now() + pause });
    const isSignedOut = error instanceof ServerTrouble && error.kind === "sign-in";
    if (isSignedOut && session.value === by) await signedOut(part, by, error);
    if (!(error instanceof ServerTrouble)) console.error(error);
  }
}

/** @param {Part} part @param {Session} by @param {ServerTrouble} trouble */
async function signedOut(part, by, trouble) {
  if (!by.loan) needsSignIn.value = true;
  // The records are asked for in a way that nobody but the server can answer.
  else if (part === "records") await endRefused(trouble);
}

async function tellSent() {
  const lastSentAt = new Date().toISOString();
  tell({ lastSentAt });
  await writeSetting("last_sent_at", lastSentAt);
}

/** Counts what waits a moment after it changes: typing must not pay for it at each key. */
function watchWhatWaits() {
  const recount = afterAPause(COUNT_AFTER_MS, async () => {
    const [changes, files, space] = await Promise.all([
      db.outbox.toArray(),
      filesToSend(),
      measureSpace(),
    ]);
    const waiting = changes.filter((change) => change.state !== "refused");
    tell({
      records: new Set(waiting.map((change) => change.entity_id)).size,
      photographs: files.length,
      bytes: files.reduce((sum, file) => sum + file.size_bytes, 0),
      ...space,
    });
    await keepLedger(changes, files);
  });
  const sendSoon = afterAPause(SEND_AFTER_MS, async () => {
    const { records, photographs } = syncState.value;
    if (records + photographs > 0) attempt();
  });
  const changed = () => {
    recount();
    sendSoon();
  };
  const matters = (/** @type {Matter[]} */ needsYou) => {
    tell({ needsYou });
    recount();
  };
  liveQuery(() => db.outbox.count()).subscribe(changed);
  liveQuery(filesToSend).subscribe(recount);
  liveQuery(findMatters).subscribe(matters);
}

/**
 * Does the work once, when nobody has asked for it again for so long; at the latest after
 * three times as long. Never twice at once.
 *
 * @param {number} ms
 * @param {() => Promise<void>} work
 */
function afterAPause(ms, work) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  let latest = 0;
  let last = Promise.resolve();
  return () => {
    const now = Date.now();
    latest ||= now + 3 * ms;
    clearTimeout(timer);
    timer = setTimeout(
      () => {
        latest = 0;
        last = last.then(work).catch((error) => console.error(error));
      },
      Math.min(ms, latest - now),
    );
  };
}
