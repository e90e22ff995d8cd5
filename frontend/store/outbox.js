/**
 * The line of changes that wait to be sent. Keystrokes on one record grow one waiting change
 * instead of adding hundreds; a change that may have reached the server is never altered.
 */

import * as clock from "./clock.js";
import { db, readSetting, writeSetting } from "./database.js";
import { newId } from "./ids.js";
import { session } from "./session.js";

/** @import { Change, Entity, Fields } from "./types.js" */

/**
 * Fields that must keep their place in the line, because what they say rests on changes of
 * other records before them: a signature closes over everything seen, a reference needs the
 * record it names.
 */
const KEEP_THEIR_PLACE = ["signed_at", "observation", "photograph", "now", "statement", "deleted"];

/**
 * Says which waiting changes take up new values, and what is left for a change of its own.
 *
 * A value for a field that already waits goes where the field waits, with the base it had
 * then. Other fields join the last waiting change only if the person looked at the same
 * revision: a base older than what was on the screen would raise a needless question.
 *
 * @param {Change[]} line  the record's changes, first to last
 * @param {{fields: Fields, base: number, person: string}} entry  base: revision of the row on
 *   the screen
 * @returns {{grown: Change[], rest: Fields}}  the changes that grew, with their new values
 */
export function growLine(line, { fields, base, person }) {
  /** @type {Map<Change, Change>} */
  const grown = new Map();
  /** @type {Fields} */
  const rest = {};
  const last = line.at(-1);
  for (const [field, value] of Object.entries(fields)) {
    const holder = line.findLast((change) => field in change.fields);
    const joins =
      last?.state === "waiting" && last.base === base && !KEEP_THEIR_PLACE.includes(field);
    const target = [holder, joins ? last : undefined].find(
      (change) => change && mayBeAltered(change) && change.person === person,
    );
    if (target) {
      const now = grown.get(target) ?? target;
      grown.set(target, { ...now, fields: { ...now.fields, [field]: value } });
    } else {
      rest[field] = value;
    }
  }
  return { grown: [...grown.values()], rest };
}

/** A refused change has had its answer: it goes again under a new id. @param {Change} change */
function mayBeAltered(change) {
  return !change.tried || change.state === "refused";
}

/**
 * Puts new values of a record in the line. Call it inside the transaction that writes the row.
 *
 * @param {{
 *   entity: Entity,
 *   entity_id: string,
 *   fields: Fields,
 *   base: number,
 *   creates?: boolean,
 *   settles?: string,
 * }} entry  settles: the open question that the fields answer
 */
export async function putInLine({ entity, entity_id, fields, base, creates = false, settles }) {
  const { person, device_id } = signedIn();
  const [line, last] = await Promise.all([
    creates ? [] : lineOf(entity_id),
    readSetting("clock"),
  ]);
  const now = clock.tick(last ?? clock.START, Date.now());
  const at = clock.write(now, device_id);
  // An answer is a change of its own: only a second thought on it alters it.
  const growing = settles ? line.filter((change) => change.settles === settles) : line;
  const { grown, rest } = growLine(growing, { fields, base, person: person.id });
  // Side by side: a finger waits for the last of them.
  /** @type {Promise<unknown>[]} */
  const writes = [writeSetting("clock", now)];
  if (grown.length) writes.push(db.outbox.bulkPut(grown.map((change) => ({ ...change, at }))));
  if (creates || Object.keys(rest).length > 0) {
    writes.push(
      db.outbox.add({
        id: newId(),
        entity,
        entity_id,
        fields: rest,
        base,
        at,
        person: person.id,
        person_name: person.name,
        creates,
        ...(settles ? { settles } : {}),
        tried: false,
        state: "waiting",
        reasons: {},
      }),
    );
  }
  await Promise.all(writes);
  if (line.some((change) => change.state === "refused")) await sendRefusedAgain();
}

/** @param {string} entity_id @returns {Promise<Change[]>} first to last */
export function lineOf(entity_id) {
  return db.outbox.where({ entity_id }).sortBy("order");
}

/**
 * Lets every refused change try again in its place in the line: one correction may have been
 * what others wanted too, such as the photographs of a visit that was refused for its date.
 * They go under new ids, because the server remembers its answer to the old ones.
 */
export async function sendRefusedAgain() {
  await db.outbox.where({ state: "refused" }).modify((change) => {
    Object.assign(change, { id: newId(), state: "waiting", tried: false, again: true, reasons: {} });
  });
}

/** The session. @throws {Error} when nobody has signed in on this tablet */
export function signedIn() {
  if (!session.value) throw new Error("Sign in first: work is kept under the name of its author.");
  return session.value;
}
