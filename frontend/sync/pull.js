/** Fetches what the tablet is to carry, page by page; a pull that was cut off goes on later. */

import { db, readSetting, tableOf, TABLES, writeSetting } from "../store/database.js";
import { groupBy } from "../store/group.js";
import { newId } from "../store/ids.js";
import { merge } from "../store/merge.js";
import { ask } from "../store/server.js";

/** @import { Change, Entity, Question } from "../store/types.js" */
/** @import { Held, Pulled } from "../store/merge.js" */

/**
 * How far the tablet has read. `round` names the last pull from the start: each row is marked
 * with the round that brought it, so that rows which a whole round no longer brings can go.
 * `isOutOfStep` once an object came into the chosen places or left them: its examinations did
 * not change with it, so only a new round brings them or lets go of them.
 * @typedef {{cursor: number, round: string, isWhole: boolean, isOutOfStep?: boolean}} Reached
 *
 * @typedef {{
 *   rows: Pulled[],
 *   questions: Question[],
 *   cursor: number,
 *   more: boolean,
 *   scope: {locations: string[]},
 *   expires_at?: string | null,
 * }} Page
 */

const ROWS_A_PAGE = 500;

/**
 * @param {string} token
 * @param {(rows: number) => void} onProgress  told the number of rows so far after each page
 * @returns {Promise<string | null>}  when this device's sign-in ends, as the server now has it
 * @throws {import("../store/server.js").ServerTrouble} and then the next pull goes on from there
 */
export async function pull(token, onProgress) {
  let reached = await whereItStands();
  let rows = 0;
  /** @type {string | null} */
  let ends = null;
  for (let more = true; more; ) {
    const { body } = await ask(`/api/sync/pull?cursor=${reached.cursor}&limit=${ROWS_A_PAGE}`, { token });
    const page = /** @type {Page} */ (body);
    if (reached.cursor > 0 && !(await isOfTheSamePlaces(page))) {
      // The server took a choice of places whose answer was lost: what was read does not count.
      await db.settings.delete("pull");
      reached = await whereItStands();
      continue;
    }
    reached = { ...reached, cursor: page.cursor };
    ends = page.expires_at ?? null;
    if (!(await keepPage(page, reached))) return ends;
    more = page.more;
    rows += page.rows.length;
    onProgress(rows);
  }
  if (!reached.isWhole) await endRound(reached);
  if (!reached.isOutOfStep) return ends;
  await db.settings.delete("pull");
  return pull(token, onProgress);
}

/** @param {Page} page */
async function isOfTheSamePlaces({ scope }) {
  return JSON.stringify(scope) === JSON.stringify((await readSetting("scope")) ?? scope);
}

/** @returns {Promise<Reached>} */
async function whereItStands() {
  const kept = /** @type {Reached | undefined} */ (await readSetting("pull"));
  const reached = kept ?? { cursor: 0, round: newId(), isWhole: false };
  await writeSetting("pull", reached);
  return reached;
}

/**
 * @param {Page} page
 * @param {Reached} reached
 * @returns {Promise<boolean>}  false when everything was asked for anew in the meantime
 */
function keepPage(page, reached) {
  return db.transaction("rw", db.tables, async () => {
    const now = /** @type {Reached | undefined} */ (await readSetting("pull"));
    if (now?.round !== reached.round) return false;
    const lines = groupBy(await db.outbox.orderBy("order").toArray(), (each) => each.entity_id);
    if (reached.isWhole && (await bringsOrTakesObjects(page))) reached.isOutOfStep = true;
    for (const [entity, pulled] of groupBy(page.rows, (row) => row.entity)) {
      if (entity in TABLES) await keepRows(entity, pulled, lines, reached.round);
    }
    for (const question of page.questions) {
      if (question.settled) await db.questions.delete(question.id);
      else await db.questions.put({ ...question, _round: reached.round });
    }
    await writeSetting("scope", page.scope);
    await writeSetting("pull", reached);
    return true;
  });
}

/** @param {Page} page @returns {Promise<boolean>} never where the whole collection is carried */
async function bringsOrTakesObjects({ rows, scope }) {
  if (!scope.locations.length) return false;
  const objects = rows.filter((row) => row.entity === "object");
  const held = await db.objects.bulkGet(objects.map((row) => row.id));
  return objects.some((row, index) => row.deleted === Boolean(held[index]));
}

/**
 * @param {Entity} entity
 * @param {Pulled[]} pulled
 * @param {Map<string, Change[]>} lines
 * @param {string} round
 */
async function keepRows(entity, pulled, lines, round) {
  const table = tableOf(entity);
  const held = await table.bulkGet(pulled.map((row) => row.id));
  /** @type {Held[]} */
  const kept = [];
  const gone = [];
  for (const [index, row] of pulled.entries()) {
    const merged = merge(row, /** @type {Held | undefined} */ (held[index]), lines.get(row.id) ?? []);
    if (merged) kept.push({ ...merged, _round: round });
    else gone.push(row.id);
  }
  await table.bulkPut(/** @type {any[]} */ (kept));
  await table.bulkDelete(gone);
}

/**
 * A round from the start has brought all that is in scope: what the server knows and this round
 * did not bring is carried no longer. Rows with words still to be sent stay. A question goes in
 * the same way: of one about a record that is not brought, nobody would say that it was settled.
 *
 * @param {Reached} reached
 */
function endRound(reached) {
  return db.transaction("rw", db.tables, async () => {
    const busy = new Set((await db.outbox.toArray()).map((change) => change.entity_id));
    const isLeft = (/** @type {{_round?: string}} */ row, /** @type {string} */ key) =>
      row._round !== reached.round && !busy.has(key);
    for (const entity of /** @type {Entity[]} */ (Object.keys(TABLES))) {
      await tableOf(entity).filter((row) => isLeft(/** @type {any} */ (row), row.id)).delete();
    }
    await db.questions.filter((question) => isLeft(question, question.entity_id)).delete();
    await writeSetting("pull", { ...reached, isWhole: true });
    await writeSetting("was_whole", true);
  });
}
