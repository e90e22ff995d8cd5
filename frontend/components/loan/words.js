/** How checks, their points and their signatures are put into words. */

import { count, listed, lowerFirst, named } from "../wording.js";

/** @import { LoanCheckRow } from "../../store/types.js" */
/** @import { Point } from "../check/data.js" */

/** "Arrival check" @param {Pick<LoanCheckRow, "stage">} check */
export function checkName({ stage }) {
  return `${named("stage", stage)} check`;
}

/**
 * "12 known points: 9 same, 1 changed, 1 not visible and 1 left open"; those that nothing was said
 * of are counted as not looked at.
 *
 * @param {Point[]} points
 */
export function tally(points) {
  if (points.length === 0) return "No points were known before.";
  const said = (/** @type {string} */ code) => points.filter(({ answer }) => answer?.answer === code);
  const open = said("");
  const parts = [
    ...["same", "changed", "not-visible"].map((code) => [said(code).length, lowerFirst(named("answer", code))]),
    [open.filter(({ answer }) => answer?.reason.trim()).length, "left open"],
    [points.length - points.filter(({ answer }) => answer?.answer || answer?.reason.trim()).length, "not looked at yet"],
  ];
  const told = parts.filter(([number]) => number).map(([number, words]) => `${number} ${words}`);
  return `${count(points.length, "known point")}: ${listed(told)}.`;
}

/** A hash for reading aloud: groups of four. @param {string} sha256 */
export function inFours(sha256) {
  return sha256.match(/.{1,4}/g) ?? [];
}
