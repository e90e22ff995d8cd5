/**
 * Open questions: two people gave one field different values. A person says which stands, with
 * or without a network: the answer is a change like any other, and names the question.
 */

import { db, readSetting, TABLES, tableOf } from "./database.js";
import { durably } from "./durable.js";
import { putInLine, signedIn } from "./outbox.js";
import { create } from "./write.js";

/** @import { Entity, ExaminationRow, Fields, Question } from "./types.js" */

/**
 * Questions that nobody has answered yet. An answer on its way counts; one that the server
 * refused does not.
 *
 * @returns {Promise<Question[]>}
 */
export async function openQuestions() {
  const questions = await db.questions.toArray();
  if (questions.length === 0) return [];
  const answered = new Set();
  await db.outbox
    .where("state")
    .anyOf("waiting", "sending")
    .each(({ settles }) => answered.add(settles));
  return questions.filter(({ id }) => !answered.has(id));
}

/**
 * Those about an examination and all that hangs on it.
 *
 * @param {string} examination
 * @returns {Promise<Question[]>}
 */
export async function questionsOf(examination) {
  const open = await openQuestions();
  const owners = await Promise.all(open.map(({ entity, entity_id }) => examinationOf(entity, entity_id)));
  return open.filter((_, i) => owners[i] === examination);
}

/**
 * The examination that a record is or belongs to; null when it belongs to none.
 *
 * @param {Entity} entity
 * @param {string} id
 * @returns {Promise<string | null>}
 */
export async function examinationOf(entity, id) {
  if (entity === "examination") return id;
  switch (entity) {
    case "observation":
    case "photograph":
    case "measurement":
    case "recommendation":
    case "watermark":
    case "amendment":
    case "loan_check":
      return (await db.table(TABLES[entity]).get(id))?.examination ?? null;
    case "point_check":
    case "signature":
      return examinationOf("loan_check", (await db.table(TABLES[entity]).get(id))?.loan_check ?? "");
    default:
      return null;
  }
}

/** The examination of a record, if it is signed. @param {Entity} entity @param {string} id */
export async function signedExaminationOf(entity, id) {
  const key = await examinationOf(entity, id);
  const examination = key ? await db.examinations.get(key) : undefined;
  return examination?.signed_at ? examination : null;
}

/**
 * Answers a question. The value is shown at once, and sent with the record's other changes.
 * In a signed examination what was signed stays: another value becomes an amendment.
 *
 * @param {string} id  of the question
 * @param {{choice: "shown" | "kept"} | {value: unknown}} answer
 * @param {string} [reason]  why a signed examination is amended, in the person's words
 * @throws {import("./durable.js").StorageFull | Error} with a sentence for the person
 */
export function settle(id, answer, reason = "") {
  return durably(async () => {
    const question = await db.questions.get(id);
    if (!question) throw new Error("Somebody has settled this in the meantime. Look at the record again.");
    const { entity, entity_id, field } = question;
    const row = /** @type {Fields | undefined} */ (await tableOf(entity).get(entity_id));
    let value = "choice" in answer ? question[answer.choice].value : answer.value;
    const signed = await signedExaminationOf(entity, entity_id);
    if (signed && JSON.stringify(value) !== JSON.stringify(question.shown.value)) {
      await create("amendment", amendment(question, signed, value, reason));
      value = question.shown.value;
    }
    await putInLine({
      entity,
      entity_id,
      fields: { [field]: value },
      // A deleted record has no row, but its question came with all up to the cursor.
      base: /** @type {number} */ (row?.revision ?? (await readSetting("pull"))?.cursor ?? 0),
      settles: id,
    });
    if (!row) return;
    if (field !== "deleted") await tableOf(entity).put(/** @type {any} */ ({ ...row, [field]: value }));
    else if (value) await tableOf(entity).delete(entity_id);
  });
}

/**
 * @param {Question} question
 * @param {ExaminationRow} examination
 * @param {unknown} value
 * @param {string} reason
 * @returns {Fields}
 */
function amendment({ entity, entity_id, field, shown }, examination, value, reason) {
  if (!reason.trim()) throw new Error("Say why, so that it can be kept as an amendment.");
  const isDeletion = field === "deleted";
  return {
    examination: examination.id,
    subject: entity === "examination" ? entity : `${entity}:${entity_id}`,
    field: isDeletion ? "" : field,
    before: isDeletion ? null : shown.value,
    after: isDeletion ? { deleted: value } : value,
    reason: reason.trim(),
    signed_name: signedIn().person.name,
  };
}
