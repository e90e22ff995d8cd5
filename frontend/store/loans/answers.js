/**
 * How a known point was found. "Same" and "changed" carry the observation over into the check's own
 * examination, so that a signed check is a whole state, from which the next one starts.
 */

import { db } from "../database.js";
import { durably } from "../durable.js";
import { create, remove, save } from "../write.js";

/** @import { LoanCheckRow, ObservationRow, PointCheckRow } from "../types.js" */

/** @typedef {PointCheckRow["answer"]} Answer */

/**
 * Gives a point an answer; another one before it is taken back, with its reason.
 *
 * @param {Pick<LoanCheckRow, "id" | "examination">} check
 * @param {ObservationRow} known
 * @param {Answer} answer
 * @throws {Error} with a sentence when it could not be kept
 */
export async function answerPoint(check, known, answer) {
  await durably(async () => {
    const before = await pointOf(check.id, known.id);
    if (before?.answer === answer && before.answer !== "") return;
    const carries = answer === "same" || answer === "changed";
    const held = before?.now ? await db.observations.get(before.now) : undefined;
    let now = held?.id ?? null;
    if (carries && !now) now = await create("observation", await copyOf(check, known));
    // What was said of a change is no longer so.
    if (answer === "same" && held) await save("observation", held.id, whatIsSaid(known));
    const fields = { answer, reason: "", now: carries ? now : null };
    if (before) await save("point_check", before.id, fields);
    else await create("point_check", { loan_check: check.id, observation: known.id, ...fields });
    if (!carries && held) await dropObservation(held.id);
  });
}

/**
 * Says what changed, or why a point was not seen or is left open.
 *
 * @param {Pick<LoanCheckRow, "id">} check
 * @param {string} known  key of the observation
 * @param {string} reason
 */
export function giveReason(check, known, reason) {
  return setOfPoint(check, known, { reason });
}

/**
 * Links the photograph that shows how the point is now.
 *
 * @param {Pick<LoanCheckRow, "id">} check
 * @param {string} known  key of the observation
 * @param {string | null} photograph
 */
export function linkPhotograph(check, known, photograph) {
  return setOfPoint(check, known, { photograph });
}

/** @param {Pick<LoanCheckRow, "id">} check @param {string} known @param {Partial<PointCheckRow>} fields */
function setOfPoint(check, known, fields) {
  return durably(async () => {
    const point = await pointOf(check.id, known);
    if (point) await save("point_check", point.id, fields);
    else await create("point_check", { loan_check: check.id, observation: known, ...fields });
  });
}

/** @param {string} check @param {string} known */
async function pointOf(check, known) {
  const rows = await db.point_checks.where({ loan_check: check }).sortBy("id");
  return rows.findLast(({ observation }) => observation === known);
}

/**
 * What was said of the sheet. Not the mark: it names a photograph of the earlier examination,
 * unless that is the check's own.
 *
 * @param {Pick<LoanCheckRow, "examination">} check
 * @param {ObservationRow} known
 */
async function copyOf({ examination }, known) {
  const on = known.mark && (await db.photographs.get(known.mark.photograph));
  const mark = on?.examination === examination ? known.mark : null;
  return { examination, ...whatIsSaid(known), mark };
}

/** @param {ObservationRow} known */
function whatIsSaid({ term, nature, extent, severity, side, lights, region, note }) {
  return { term, nature, extent, severity, side, lights, region, note };
}

/** With what was measured on it. @param {string} observation */
async function dropObservation(observation) {
  for (const id of await db.measurements.where({ observation }).primaryKeys()) {
    await remove("measurement", id);
  }
  await remove("observation", observation);
}
