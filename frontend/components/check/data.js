/** A check with all that its screen shows, as this device holds it. */

import { db } from "../../store/database.js";
import { answersOf, isSettled, knownPoints } from "../../store/loans/points.js";
import { byVocabulary } from "../../store/vocabulary.js";

/** @import * as Row from "../../store/types.js" */

/**
 * A known point: what was seen before, what was said of it now, and how it stands in the check's
 * own examination.
 * @typedef {{
 *   known: Row.ObservationRow,
 *   answer: Row.PointCheckRow | undefined,
 *   isSettled: boolean,
 *   now: Row.ObservationRow | undefined,
 *   photograph: Row.PhotographRow | undefined,
 * }} Point
 *
 * `found` are the observations that are new at this check, `packed` is the last signed one before
 * that noted numbers of seals; `since` is what was added to the earlier state after it was signed,
 * oldest first.
 * @typedef {{
 *   check: Row.LoanCheckRow,
 *   loan: Row.LoanRow,
 *   loaned: Row.LoanedObjectRow | undefined,
 *   examination: Row.ExaminationRow,
 *   object: Row.ObjectRow | undefined,
 *   earlier: Row.ExaminationRow | undefined,
 *   packed: Row.LoanCheckRow | undefined,
 *   points: Point[],
 *   found: Row.ObservationRow[],
 *   since: Row.AmendmentRow[],
 * }} CheckData
 */

/**
 * Reads the database only, so that it can be watched.
 *
 * @param {string} id
 * @returns {Promise<CheckData | null>}  null when the device does not carry it whole
 */
export async function readCheck(id) {
  const check = await db.loan_checks.get(id);
  if (!check) return null;
  const [loan, examination, earlier, since, known, answers] = await Promise.all([
    db.loans.get(check.loan),
    db.examinations.get(check.examination),
    check.earlier ? db.examinations.get(check.earlier) : undefined,
    check.earlier ? db.amendments.where({ examination: check.earlier }).sortBy("signed_at") : [],
    knownPoints(check),
    answersOf(id),
  ]);
  if (!loan || !examination) return null;
  const [object, loaned, own, photographs, packed] = await Promise.all([
    db.objects.get(examination.object),
    db.loaned_objects.where({ object: examination.object }).filter((row) => row.loan === loan.id).first(),
    db.observations.where({ examination: examination.id }).toArray(),
    db.photographs.where({ examination: examination.id }).toArray(),
    packedBefore(check, examination),
  ]);
  const points = known.map((each) => {
    const answer = answers.get(each.id);
    return {
      known: each,
      answer,
      isSettled: isSettled(answer),
      now: own.find((row) => row.id === answer?.now),
      photograph: photographs.find((row) => row.id === answer?.photograph),
    };
  });
  const carriedOver = new Set(points.map(({ now }) => now?.id));
  const found = own.filter((row) => !carriedOver.has(row.id)).sort(byVocabulary);
  return { check, loan, loaned, examination, object, earlier, packed, points, found, since };
}

/**
 * As survey/loans/conditions.py finds it.
 *
 * @param {Row.LoanCheckRow} check @param {Row.ExaminationRow} examination
 */
async function packedBefore({ loan, stage }, { object, started_at }) {
  if (stage === "outgoing") return undefined;
  const noted = await db.loan_checks.where({ loan }).filter((row) => Boolean(row.statement && row.seals)).toArray();
  const states = await db.examinations.bulkGet(noted.map(({ examination }) => examination));
  const before = noted.flatMap((check, at) => {
    const state = states[at];
    return state?.object === object && state.started_at < started_at ? [{ check, at: state.started_at + check.id }] : [];
  });
  return before.sort((a, b) => (a.at < b.at ? 1 : -1))[0]?.check;
}

/** Points that have neither an answer nor a reason. @param {Pick<CheckData, "points">} data */
export function openOf({ points }) {
  return points.filter((each) => !each.isSettled);
}

/**
 * The next open point after one, going round; null when all are settled.
 *
 * @param {Point[]} points
 * @param {string} [after]  key of the known observation
 * @returns {Point | null}
 */
export function nextOpen(points, after) {
  const at = points.findIndex(({ known }) => known.id === after);
  const order = [...points.slice(at + 1), ...points.slice(0, at + 1)];
  return order.find((each) => !each.isSettled && each.known.id !== after) ?? null;
}
