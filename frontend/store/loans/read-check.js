/** A check with all that it says, read at once: for those who sign it, and for its report. */

import { db } from "../database.js";
import { vocabulary } from "../vocabulary.js";
import { answersOf, isSettled, knownPoints } from "./points.js";
import { partsThatDiffer, statementOf } from "./statement.js";

/** @import { Change, LoanCheckRow, ObservationRow, PointCheckRow, SignatureRow } from "../types.js" */

/**
 * A known point, what was said of it, and how it is now.
 * @typedef {{
 *   observation: ObservationRow,
 *   answer: PointCheckRow | undefined,
 *   now: ObservationRow | undefined,
 * }} Point
 *
 * observations  numbered as they come, in the order of the vocabulary
 * fresh         those that are no known point
 * statement     what was signed, else what would be; "" when it cannot be made, and `lacks` why
 * differs       whether the records say something else by now than what was signed
 * signatures    below this statement; those that the server refused are not among them
 * refused       why the server did not take a signing, in sentences
 * isUnsent      whether any of it still waits to be sent
 * @typedef {NonNullable<Awaited<ReturnType<typeof readCheck>>>} WholeCheck
 */

/** Reads the database only, so that it can be watched. @param {string} id  of the check */
export async function readCheck(id) {
  const check = await db.loan_checks.get(id);
  const examination = check && (await db.examinations.get(check.examination));
  if (!check || !examination) return null;
  const of = { examination: examination.id };
  const [loan, object, visit, loaned, earlier, before] = await Promise.all([
    db.loans.get(check.loan),
    db.objects.get(examination.object),
    db.visits.get(examination.visit),
    db.loaned_objects.where({ loan: check.loan }).filter((row) => row.object === examination.object).first(),
    check.earlier ? db.examinations.get(check.earlier) : undefined,
    check.earlier ? db.loan_checks.where({ examination: check.earlier }).first() : undefined,
  ]);
  const [photographs, observations, measurements, amendments] = await Promise.all([
    db.photographs.where(of).sortBy("id"),
    db.observations.where(of).toArray(),
    db.measurements.where(of).sortBy("id"),
    db.amendments.where(of).sortBy("signed_at"),
  ]);
  const points = await pointsOf(check, observations);
  const known = new Set(points.map(({ now }) => now?.id));
  const inOrder = observations.sort(byVocabulary);
  return {
    check,
    loan,
    loaned,
    object,
    examination,
    visit,
    earlier,
    before,
    photographs,
    observations: inOrder,
    measurements,
    amendments,
    points,
    open: points.filter(({ answer }) => !isSettled(answer)),
    fresh: inOrder.filter((row) => !known.has(row.id)),
    ...(await saidOf(check)),
    ...(await signingOf(check)),
  };
}

/** @param {LoanCheckRow} check @param {ObservationRow[]} observations @returns {Promise<Point[]>} */
async function pointsOf(check, observations) {
  const [known, answers] = await Promise.all([knownPoints(check), answersOf(check.id)]);
  const own = new Map(observations.map((row) => [row.id, row]));
  return known.sort(byVocabulary).map((observation) => {
    const answer = answers.get(observation.id);
    return { observation, answer, now: answer?.now ? own.get(answer.now) : undefined };
  });
}

/** @param {LoanCheckRow} check */
async function saidOf(check) {
  const now = await statementOf(check).catch((error) => /** @type {Error} */ (error));
  if (now instanceof Error) return { statement: check.statement, lacks: now.message, differs: false };
  const differs = check.statement !== "" && partsThatDiffer(check.statement, now).length > 0;
  return { statement: check.statement || now, lacks: "", differs };
}

/** @param {LoanCheckRow} check */
async function signingOf(check) {
  const rows = await db.signatures.where({ loan_check: check.id }).sortBy("id");
  const line = await db.outbox
    .where("entity_id")
    .anyOf([check.id, check.examination, ...rows.map((row) => row.id)])
    .toArray();
  const refused = line.filter(({ state }) => state === "refused");
  const taken = (/** @type {SignatureRow} */ row) => !refused.some((change) => change.entity_id === row.id);
  return {
    signatures: check.statement ? rows.filter(taken) : [],
    refused: sentencesOf(refused),
    isUnsent: line.length > 0,
  };
}

/**
 * Why a signing was refused; what was refused only because the statement was says nothing more.
 *
 * @param {Change[]} refused
 */
function sentencesOf(refused) {
  const isStatement = (/** @type {Change} */ { fields }) => "statement" in fields;
  const roots = refused.some(isStatement) ? refused.filter(isStatement) : refused;
  return [...new Set(roots.flatMap(({ reasons }) => Object.values(reasons)))];
}

/** As the desk numbers them. @param {ObservationRow} a @param {ObservationRow} b */
function byVocabulary(a, b) {
  return placeOf(a) - placeOf(b) || (a.id < b.id ? -1 : 1);
}

/** @param {ObservationRow} row  one of a term that is not known comes last */
function placeOf({ term }) {
  const place = vocabulary.value.terms.findIndex(({ code }) => code === term);
  return place < 0 ? Infinity : place;
}
