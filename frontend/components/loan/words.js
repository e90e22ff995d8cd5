/** How checks and what they came to are put into words; as the desk's report has them. */

import { count, day, lowerFirst, named, optionsOf } from "../wording.js";
import { conditionsOf } from "./condition-rows.js";

/** @import { LoanCheckRow, SignatureRow } from "../../store/types.js" */
/** @import { Link } from "../../store/loans/journey.js" */
/** @import { Point } from "../check/data.js" */
/** @import { WholeCheck } from "./whole-check.js" */

/** "Arrival check" @param {Pick<LoanCheckRow, "stage">} check */
export function checkName({ stage }) {
  return `${named("stage", stage)} check`;
}

/**
 * When a check was made, each day by its name: a state that was examined some weeks before may have
 * been signed as the one in which the object left.
 *
 * @param {Link} link
 */
export function daysOf({ check, examination, signed_at }) {
  const examined = examination && day(examination.started_at);
  const signed = signed_at && day(signed_at);
  if (!check.statement) return examined ? `Begun ${examined}` : "";
  if (!signed) return examined ? `Examined ${examined}` : "";
  return examined && examined !== signed ? `Examined ${examined}, signed ${signed}` : `Signed ${signed}`;
}

const NOT_ANSWERED = "Not answered yet";

/** "Changed", "Left open", "Not answered yet" @param {Point} point */
export function answerName({ answer }) {
  return answer && (answer.answer || answer.reason) ? named("answer", answer.answer) : NOT_ANSWERED;
}

/**
 * What a check came to, in sentences: how the known points were found, what is new, and which
 * conditions are other than agreed.
 *
 * @param {WholeCheck} whole
 * @returns {string[]}
 */
export function resultOf({ check, loan, loaned, packed, examination, points, found }) {
  const names = points.map(answerName);
  const order = [...optionsOf("answer").map(({ label }) => label), NOT_ANSWERED];
  const counted = order.map((name) => [names.filter((each) => each === name).length, name]);
  const told = counted.filter(([number]) => number).map(([number, name]) => `${number} ${lowerFirst(String(name))}`);
  return [
    points.length
      ? `Of ${count(points.length, "point")} known before: ${told.join(", ")}.`
      : "No earlier signed state was known: this check is the first.",
    found.length
      ? `${count(found.length, points.length ? "new finding" : "observation")}.`
      : points.length
        ? "Nothing new was noted."
        : examination.nothing_seen
          ? "The examiner looked and saw no damage."
          : "",
    ...conditionsOf(check, loan, loaned, packed)
      .filter(({ isOutside }) => isOutside)
      .map(({ name, found: noted, judged }) => `${name}: ${noted}, ${lowerFirst(judged)}.`),
  ].filter(Boolean);
}

/** Those of the lender's staff who hand an object over. */
const HOUSE = ["conservator", "registrar"];

/**
 * Of a check below which only one side's signatures stand, by whom, and who has not signed; as
 * survey/loans/hands.py says it. Null where both sides have, or nobody.
 *
 * @param {Pick<LoanCheckRow, "stage">} check
 * @param {Pick<SignatureRow, "role">[]} signatures
 * @returns {{by: string, lacks: string} | null}
 */
export function halfSigned({ stage }, signatures) {
  const stands = signatures.map(({ role }) => role);
  const roles = optionsOf("role").filter(({ value }) => stands.includes(/** @type {SignatureRow["role"]} */ (value)));
  const wanting = wantingOf(stage, roles.map(({ value }) => value));
  if (roles.length === 0 || !wanting) return null;
  const names = roles.map(({ label }) => `the ${lowerFirst(label)}`).join(" and ");
  return { by: `Signed by ${names} only`, lacks: `the ${lowerFirst(named("role", wanting))} has not signed` };
}

/** @param {LoanCheckRow["stage"]} stage @param {string[]} roles */
function wantingOf(stage, roles) {
  if (roles.length > 1 && roles.includes("receiver")) return "";
  if (stage !== "outgoing") return roles.join() === "receiver" ? "courier" : "receiver";
  if (!roles.some((role) => HOUSE.includes(role))) return "conservator";
  return roles.includes("courier") ? "" : "courier";
}

/**
 * A sentence where one side has signed and the other has not.
 *
 * @param {Pick<WholeCheck, "check" | "signatures">} whole
 */
export function lackingOf({ check, signatures }) {
  const half = check.statement ? halfSigned(check, signatures) : null;
  return half ? [`${half.by}; ${half.lacks}.`] : [];
}

/** A hash for reading aloud: groups of four. @param {string} sha256 */
export function inFours(sha256) {
  return sha256.match(/.{1,4}/g) ?? [];
}
