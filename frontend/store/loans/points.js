/**
 * The points of a check: what was known of the object before, to be looked at one by one. As
 * survey/loans/points.py has them, so that the server takes what the tablet let be signed. Read
 * from the database only, so that a live query sees each answer.
 */

import { db } from "../database.js";
import { byVocabulary } from "../vocabulary.js";

/** @import { LoanCheckRow, ObservationRow, PointCheckRow } from "../types.js" */

/** Answers after which a point comes up again at the next check. @type {PointCheckRow["answer"][]} */
const UNSEEN = ["", "not-visible"];

/**
 * What a check has to go through: the observations of the earlier state, and, where that was a
 * check itself, those that it could not see or left open. In the order of the vocabulary,
 * in which reports number them.
 *
 * @param {Pick<LoanCheckRow, "earlier">} check
 * @returns {Promise<ObservationRow[]>}
 */
export async function knownPoints({ earlier }) {
  if (!earlier) return [];
  const [own, unseen] = await Promise.all([
    db.observations.where({ examination: earlier }).toArray(),
    unseenAt(earlier),
  ]);
  const known = new Map([...own, ...unseen].map((row) => [row.id, row]));
  return [...known.values()].sort(byVocabulary);
}

/**
 * What the check of an examination could not see or left open; nothing when it was no check.
 *
 * @param {string} examination
 * @returns {Promise<ObservationRow[]>}
 */
export async function unseenAt(examination) {
  const checks = await db.loan_checks.where({ examination }).primaryKeys();
  const answered = await db.point_checks.where("loan_check").anyOf(checks).toArray();
  const unseen = answered.filter(({ answer }) => UNSEEN.includes(answer));
  const rows = await db.observations.bulkGet(unseen.map(({ observation }) => observation));
  return rows.filter((row) => row !== undefined);
}

/**
 * Known points that have neither an answer nor a reason why they are left open.
 *
 * @param {Pick<LoanCheckRow, "id" | "earlier">} check
 * @returns {Promise<ObservationRow[]>}  in the same order
 */
export async function openPoints(check) {
  const [known, answers] = await Promise.all([knownPoints(check), answersOf(check.id)]);
  return known.filter(({ id }) => !isSettled(answers.get(id)));
}

/**
 * What was said of each point, by the key of its observation.
 *
 * @param {string} check
 * @returns {Promise<Map<string, PointCheckRow>>}
 */
export async function answersOf(check) {
  const rows = await db.point_checks.where({ loan_check: check }).sortBy("id");
  return new Map(rows.map((row) => [row.observation, row]));
}

/**
 * "Same" needs no words; what changed, or could not be seen, does.
 *
 * @param {Pick<PointCheckRow, "answer" | "reason"> | undefined} answer
 */
export function isSettled(answer) {
  return answer !== undefined && (answer.answer === "same" || answer.reason.trim() !== "");
}
