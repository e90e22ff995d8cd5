/** What a person can do with a change that the server refused. Nothing is dropped unasked. */

import { db, tableOf } from "./database.js";
import { durably } from "./durable.js";
import { sendRefusedAgain, signedIn } from "./outbox.js";
import { create, dropUnusedFile } from "./write.js";

/** @import { Change, Fields } from "./types.js" */

/** Sends every refused change again, for example after the catalogue was mended at the desk. */
export function retryRefused() {
  return durably(sendRefusedAgain);
}

/**
 * Gives the change up: the record shows again what the server holds, once it was asked.
 *
 * @param {string} id  of the change
 */
export function discard(id) {
  return durably(async () => {
    const change = await db.outbox.where({ id }).first();
    if (change?.state === "refused") await drop(change);
  });
}

/**
 * Says the same in amendments to the signed examination, one for each field, and gives the
 * change up.
 *
 * @param {string} id  of the change
 * @param {string} reason  why, in the person's words
 * @throws {Error} with a sentence when the change does not belong to an examination
 */
export function amendInstead(id, reason) {
  return durably(async () => {
    const change = await db.outbox.where({ id }).first();
    if (change?.state !== "refused") return;
    const row = /** @type {Fields | undefined} */ (await tableOf(change.entity).get(change.entity_id));
    const examination =
      change.entity === "examination"
        ? change.entity_id
        : (change.fields.examination ?? row?.examination);
    if (!examination) throw new Error("This does not belong to an examination, so it cannot be amended.");
    const signed = { examination, reason, signed_name: signedIn().person.name };
    for (const words of amendmentsFor(change)) await create("amendment", { ...signed, ...words });
    await drop(change);
  });
}

/** Whether the change can be said as an amendment. @param {Change} change */
export function canBeAmended({ entity }) {
  return !["location", "object", "move", "visit", "stop", "amendment"].includes(entity);
}

/** @param {Change} change @returns {Fields[]} */
function amendmentsFor({ entity, entity_id, fields, creates }) {
  const subject = entity === "examination" ? entity : `${entity}:${entity_id}`;
  if (creates) {
    // The server does not know the record: its whole content becomes the amendment.
    const { examination, ...content } = fields;
    return [{ subject: "examination", field: "", after: { [entity]: content } }];
  }
  return Object.entries(fields).map(([field, after]) =>
    field === "deleted" ? { subject, field: "", after: { deleted: true } } : { subject, field, after },
  );
}

/** @param {Change} change */
async function drop(change) {
  await db.outbox.where({ id: change.id }).delete();
  if (!change.creates) {
    // What the server holds instead comes with the next full pull.
    await db.settings.delete("pull");
    return;
  }
  const row = await tableOf(change.entity).get(change.entity_id);
  await db.outbox.where({ entity_id: change.entity_id }).delete();
  await tableOf(change.entity).delete(change.entity_id);
  if (row && "sha256" in row) await dropUnusedFile(row.sha256);
}
