/** What only the person can settle, each in one sentence. */

import { fieldInWords, upperFirst } from "../components/wording.js";
import { db, readSetting } from "../store/database.js";
import { examinationOf, openQuestions } from "../store/questions.js";
import { session } from "../store/session.js";

/** @import { Change, Question } from "../store/types.js" */

/**
 * refused       a change the server did not take; see store/refused.js for what can be done
 * question      two people gave one field different values; see store/questions.js
 * photograph    a file the server did not take
 * clock         the tablet's clock is wrong
 * other-person  work of somebody who must sign in to send it
 *
 * `id` is that of the change, the question or the file's SHA-256; `examination` is set when
 * the matter belongs to one.
 * @typedef {{
 *   id: string,
 *   kind: "refused" | "question" | "photograph" | "clock" | "other-person",
 *   sentence: string,
 *   examination: string | null,
 * }} Matter
 */

/** Reads the database only, so that it can be watched. @returns {Promise<Matter[]>} */
export async function findMatters() {
  const [changes, questions, files, clockIsAhead, others] = await Promise.all([
    db.outbox.where({ state: "refused" }).toArray(),
    openQuestions(),
    troubledFiles(),
    readSetting("clock_is_ahead"),
    othersWaiting(),
  ]);
  return [
    ...(await Promise.all(rootsOf(changes).map(ofChange))),
    ...(await Promise.all(questions.map(ofQuestion))),
    ...files,
    ...others,
    ...(clockIsAhead ? [AHEAD] : []),
  ];
}

/** @type {Matter} */
const AHEAD = {
  id: "clock",
  kind: "clock",
  sentence:
    "The clock of this device is more than 5 minutes ahead of the server's. " +
    "Set date and time in the device's own settings.",
  examination: null,
};

/**
 * Without those that were refused only because the record they hang on was, or what they sign:
 * they go again by themselves when that one is mended.
 *
 * @param {Change[]} refused
 */
export function rootsOf(refused) {
  const missing = new Set(refused.filter((each) => each.creates).map((each) => each.entity_id));
  const unsigned = new Set(refused.flatMap(signedBy));
  return refused.filter(({ entity, entity_id, creates, fields }) => {
    const above = [fields.visit, fields.examination, fields.observation, fields.photograph];
    if (!creates) above.push(entity_id);
    if (above.some((id) => missing.has(/** @type {string} */ (id)))) return false;
    const signs = entity === "signature" ? fields.loan_check : "signed_at" in fields && entity_id;
    return !signs || !unsigned.has(/** @type {string} */ (signs));
  });
}

/** The check and the examination that are signed with a statement. @param {Change} change */
function signedBy({ fields }) {
  if (!("statement" in fields)) return [];
  const { check, examination } = JSON.parse(/** @type {string} */ (fields.statement));
  return [check.id, examination.id];
}

/** @param {Change} change @returns {Promise<Matter>} */
async function ofChange({ id, entity, entity_id, reasons }) {
  const said = Object.entries(reasons).map(([field, sentence]) =>
    field && !isOfManyFields(reasons) ? `${inWords(field)}: ${sentence}` : sentence,
  );
  return {
    id,
    kind: "refused",
    sentence: `${inWords(entity)} not accepted. ${[...new Set(said)].join(" ")}`,
    examination: await examinationOf(entity, entity_id),
  };
}

/** One sentence for every field concerns the record. @param {{[field: string]: string}} reasons */
function isOfManyFields(reasons) {
  const sentences = Object.values(reasons);
  return sentences.length > 1 && new Set(sentences).size === 1;
}

/** @param {Question} question @returns {Promise<Matter>} */
async function ofQuestion({ id, entity, entity_id, field }) {
  return {
    id,
    kind: "question",
    sentence: `${inWords(entity)}, ${inWords(field).toLowerCase()}: which of two values stands?`,
    examination: await examinationOf(entity, entity_id),
  };
}

/** @returns {Promise<Matter[]>} */
async function troubledFiles() {
  /** @type {Matter[]} */
  const matters = [];
  for (const { sha256, trouble } of await db.uploads.where("trouble").above("").toArray()) {
    const photograph = await db.photographs.where({ sha256 }).first();
    matters.push({
      id: sha256,
      kind: "photograph",
      sentence: `A photograph was not accepted. ${trouble} It is kept on this device.`,
      examination: photograph?.examination ?? null,
    });
  }
  return matters;
}

/** @returns {Promise<Matter[]>} */
async function othersWaiting() {
  const me = session.value?.person.id;
  /** @type {Map<string, {name: string, count: number}>} */
  const others = new Map();
  await db.outbox
    .where("person")
    .notEqual(me ?? "")
    .each(({ person, person_name }) => {
      others.set(person, { name: person_name, count: (others.get(person)?.count ?? 0) + 1 });
    });
  return [...others].map(([person, { name, count }]) => ({
    id: person,
    kind: "other-person",
    sentence: `${count === 1 ? "1 change" : `${count} changes`} by ${name} will be sent when ${name} signs in here.`,
    examination: null,
  }));
}

/** "sheet_width_mm" → "Sheet width" @param {string} name */
function inWords(name) {
  return upperFirst(fieldInWords(name));
}
