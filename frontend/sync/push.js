/** Sends the changes that wait, in order, and takes in what the server says of each. */

import * as clock from "../store/clock.js";
import { db, readSetting, tableOf, writeSetting } from "../store/database.js";
import { ask, ServerTrouble } from "../store/server.js";

/** @import { Change, Session } from "../store/types.js" */

/**
 * @typedef {{
 *   id: string,
 *   outcome: "applied" | "question" | "refused",
 *   reasons: {[field: string]: string},
 *   clock_clamped: boolean,
 * }} Result
 */

const MOST_AT_ONCE = 200;

/**
 * Changes that were under way when the app was closed or the answer was lost wait again, under
 * the ids they had: the server sees what it has had already. Call it when nothing else sends.
 */
export async function reopenUnanswered() {
  await db.outbox.where({ state: "sending" }).modify({ state: "waiting" });
}

/**
 * Sends the waiting changes of the person who is signed in.
 *
 * @param {Session} session
 * @param {(changes: number) => void} [onTaken]  told how many more the server has taken
 * @throws {ServerTrouble} and then everything not acknowledged waits on
 */
export async function push({ token, person }, onTaken = () => {}) {
  let most = MOST_AT_ONCE;
  for (;;) {
    const batch = await take(person.id, most);
    if (batch.length === 0) return;
    let answer;
    try {
      answer = await ask("/api/sync/push", {
        method: "POST",
        token,
        body: { changes: batch.map(asSent) },
      });
    } catch (trouble) {
      await reopenUnanswered();
      const isNotTaken =
        trouble instanceof ServerTrouble &&
        (trouble.kind === "refused" || trouble.kind === "too-large");
      if (!isNotTaken) throw trouble;
      // One of them is at fault: look for it with ever smaller batches.
      if (batch.length > 1) most = Math.ceil(batch.length / 2);
      else await refuse(batch[0], { "": trouble.message });
      continue;
    }
    await takeIn(batch, answer.body);
    onTaken(answer.body.results.filter((/** @type {Result} */ each) => each.outcome !== "refused").length);
    most = MOST_AT_ONCE;
  }
}

/**
 * Marks the next changes as under way. From here on they must not be altered: the server may
 * have them even if its answer is lost.
 *
 * @param {string} person
 * @param {number} most
 */
function take(person, most) {
  return db.transaction("rw", db.outbox, async () => {
    const batch = await db.outbox
      .where("[state+person]")
      .equals(["waiting", person])
      .limit(most)
      .toArray();
    await db.outbox.bulkPut(batch.map((change) => ({ ...change, state: "sending", tried: true })));
    return batch;
  });
}

/** @param {Change} change */
function asSent({ id, entity, entity_id, fields, base, at, settles }) {
  return { id, entity, entity_id, fields, base, at, ...(settles ? { settles } : {}) };
}

/**
 * @param {Change[]} batch
 * @param {{results: Result[], clock: string}} answer
 */
async function takeIn(batch, { results, clock: heard }) {
  const byId = new Map(results.map((result) => [result.id, result]));
  await db.transaction("rw", db.tables, async () => {
    for (const change of batch) {
      const result = byId.get(change.id);
      if (result?.outcome === "refused") await refuse(change, result.reasons);
      // The row's revision is left for the pull, which also brings what others changed.
      else if (result) {
        await db.outbox.where({ id: change.id }).delete();
        if (change.settles) await db.questions.delete(change.settles);
      }
    }
    await setClock(clock.read(heard), results.some((result) => result.clock_clamped));
  });
  await reopenUnanswered();
  if (!batch.some((change) => byId.has(change.id))) {
    throw new ServerTrouble("server", "The server answered without saying what became of the changes.");
  }
}

/** @param {Change} change @param {{[field: string]: string}} reasons */
async function refuse(change, reasons) {
  await db.outbox.where({ id: change.id }).modify({ state: "refused", reasons });
  if ("signed_at" in change.fields) {
    // Not signed after all: the form opens again, so that it can be mended and signed anew.
    await tableOf("examination").update(change.entity_id, { signed_at: null, signed_name: "" });
  }
  if ("statement" in change.fields) {
    await tableOf("loan_check").update(change.entity_id, { statement: "" });
    // It may be signed with other words, which a former pull hid behind these.
    await db.settings.delete("pull");
  }
}

/**
 * @param {clock.Time} server
 * @param {boolean} isAhead  whether the server found this tablet's clock too far ahead
 */
async function setClock(server, isAhead) {
  const own = (await readSetting("clock")) ?? clock.START;
  // A clock that ran ahead is put back, or every later change would be marked as well.
  await writeSetting("clock", isAhead ? server : clock.later(own, server));
  await writeSetting("clock_is_ahead", isAhead);
}
