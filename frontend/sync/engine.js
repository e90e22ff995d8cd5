/**
 * Keeps tablet and server in step, in the background: it sends the records first, then fetches,
 * then sends photographs, which never hold the records up. Work on the tablet never waits for it.
 */

import { liveQuery } from "../vendor/dexie.js";
import { effect } from "../vendor/ui.js";
import { db, readSetting, writeSetting } from "../store/database.js";
import { sendRefusedAgain } from "../store/outbox.js";
import { ServerTrouble } from "../store/server.js";
import { needsSignIn, session } from "../store/session.js";
import { askToPersist, filesToSend, measureSpace } from "../store/space.js";
import { refreshVocabulary } from "../store/vocabulary.js";
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

/** @param {Partial<SyncState>} news */
function tell(news) {
  syncState.value = { ...syncState.peek(), ...news };
}

/** Begins to watch and to send. Call it once, after the first screen is up. */
export async function startSync() {
  watchWhatWaits();
  addEventListener("online", () => {
    tell({ online: true });
    attempt();
  });
  addEventListener("offline", () => tell({ online: false }));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") attempt();
  });
  setInterval(() => {
    const { records, photographs } = syncState.value;
    if (records + photographs > 0 && Date.now() >= pauseUntil) attempt();
  }, EVERY_MS);
  tell({ lastSentAt: (await readSetting("last_sent_at")) ?? null });
  let person = session.value?.person.id;
  effect(() => {
    if (!session.value || needsSignIn.value) return;
    const another = session.value.person.id;
    // Whoever signs in may bring what somebody else's refused changes were waiting for.
    if (another !== person) sendRefusedAgain();
    person = another;
    queueMicrotask(attempt);
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
  const wentWell = [await run("records", inStep), await run("photographs", sendFiles)];
  failures = wentWell.includes(false) ? failures + 1 : 0;
  const pause = failures && Math.min(EVERY_MS * 2 ** (failures - 1), LONGEST_PAUSE_MS);
  pauseUntil = Date.now() + pause;
}

let failures = 0;
let pauseUntil = 0;

/** As syncNow, but only if there is any hope. */
function attempt() {
  if (navigator.onLine && session.value && !needsSignIn.value) syncNow();
}

/** @param {Session} by */
async function inStep(by) {
  await reopenUnanswered();
  await push(by);
  await refreshVocabulary(by.token);
  await pull(by.token, (done) => tell({ progress: { done, total: null } }));
}

/** @param {Session} by */
async function sendFiles(by) {
  if ((await filesToSend()).length) await sendPhotographs(by.token);
}

/** @typedef {"records" | "photographs"} Part */

/** What runs at present. @type {Map<Part, Promise<boolean>>} */
const running = new Map();

/** Why the last attempt at a part failed. @type {Map<Part, string>} */
const problems = new Map();

/**
 * Runs one part, unless it runs already, in this tab or in another one.
 *
 * @param {Part} part
 * @param {(by: Session) => Promise<void>} work
 * @returns {Promise<boolean>}  whether it went well
 */
function run(part, work) {
  const underWay = running.get(part);
  if (underWay) return underWay;
  const now = navigator.locks
    .request(`fieldleaf-${part}`, { ifAvailable: true }, (lock) => {
      if (lock) return tried(part, work);
      // Another tab does the work for both, and says there how it goes.
      problems.delete(part);
      return true;
    })
    .finally(() => {
      running.delete(part);
      const [problem = null] = problems.values();
      tell({ busy: running.size > 0, progress: null, problem });
    });
  running.set(part, now);
  tell({ busy: true });
  return now;
}

/** @param {Part} part @param {(by: Session) => Promise<void>} work @returns {Promise<boolean>} */
async function tried(part, work) {
  const by = session.value;
  if (!by) return false;
  try {
    await work(by);
    problems.delete(part);
    const lastSentAt = new Date().toISOString();
    await writeSetting("last_sent_at", lastSentAt);
    tell({ lastSentAt, online: true });
    return true;
  } catch (error) {
    problems.set(part, error instanceof Error ? error.message : String(error));
    const isSignedOut = error instanceof ServerTrouble && error.kind === "sign-in";
    if (isSignedOut && session.value === by) needsSignIn.value = true;
    if (!(error instanceof ServerTrouble)) console.error(error);
    return false;
  }
}

/** Counts what waits a moment after it changes: typing must not pay for it at each key. */
function watchWhatWaits() {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const recount = () => {
    timer ??= setTimeout(async () => {
      timer = undefined;
      const waiting = await db.outbox.where("state").anyOf("waiting", "sending").toArray();
      const files = await filesToSend();
      tell({
        records: new Set(waiting.map((change) => change.entity_id)).size,
        photographs: files.length,
        bytes: files.reduce((sum, file) => sum + file.size_bytes, 0),
        ...(await measureSpace()),
      });
    }, COUNT_AFTER_MS);
  };
  const matters = (/** @type {Matter[]} */ needsYou) => {
    tell({ needsYou });
    recount();
  };
  liveQuery(() => db.outbox.count()).subscribe(recount);
  liveQuery(filesToSend).subscribe(recount);
  liveQuery(findMatters).subscribe(matters);
}
