/** A check with all that it says, read at once: for those who sign it, and for its report. */

import { db } from "../../store/database.js";
import { partsThatDiffer, statementOf } from "../../store/loans/statement.js";
import { byVocabulary } from "../../store/vocabulary.js";
import { openOf, readCheck } from "../check/data.js";

/** @import { Change, LoanCheckRow, SignatureRow } from "../../store/types.js" */

/**
 * observations  of the check's own examination, in the order of the vocabulary, as the desk has
 *               them
 * before        the check that the earlier state was itself, if it was one
 * statement     what was signed, else what would be; "" when it cannot be made, and `lacks` why
 * differs       whether the records say something else by now than what was signed
 * signatures    below this statement; those that the server refused are not among them
 * refused       why the server did not take a signing, in sentences
 * isUnsent      whether any of it still waits to be sent
 * @typedef {NonNullable<Awaited<ReturnType<typeof readWhole>>>} WholeCheck
 */

/**
 * Reads the database only, so that it can be watched.
 *
 * @param {string} id  of the check
 */
export async function readWhole(id) {
  const data = await readCheck(id);
  if (!data) return null;
  const { check, examination } = data;
  const of = { examination: examination.id };
  const [visit, loaned, before, photographs, observations, measurements, amendments] = await Promise.all([
    db.visits.get(examination.visit),
    db.loaned_objects.where({ loan: check.loan }).filter(({ object }) => object === examination.object).first(),
    check.earlier ? db.loan_checks.where({ examination: check.earlier }).first() : undefined,
    db.photographs.where(of).sortBy("id"),
    db.observations.where(of).toArray(),
    db.measurements.where(of).sortBy("id"),
    db.amendments.where(of).sortBy("signed_at"),
  ]);
  return {
    ...data,
    open: openOf(data),
    visit,
    loaned,
    before,
    photographs,
    observations: observations.sort(byVocabulary),
    measurements,
    amendments,
    ...(await saidOf(check)),
    ...(await signingOf(check)),
  };
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
  const isTaken = (/** @type {SignatureRow} */ row) => !refused.some((change) => change.entity_id === row.id);
  return {
    signatures: check.statement ? rows.filter(isTaken) : [],
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
