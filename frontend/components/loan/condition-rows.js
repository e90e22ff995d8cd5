/**
 * What was noted at packing or unpacking, row by row beside what was agreed or listed: for those
 * who sign it, or read it later. In the words of survey/loans/conditions.py.
 *
 * Readings at a crate are one look at one instrument, whose uncertainty no record holds; so what
 * lies outside is told by how much, and a person judges.
 */

import { lowerFirst, named, upperFirst } from "../wording.js";
import { between } from "./conditions.js";

/** @import { LoanCheckRow, LoanedObjectRow, LoanRow } from "../../store/types.js" */

/**
 * agreed, found  in words with their unit; "" when there is none
 * judged         how the two stand to each other, in words
 * @typedef {{name: string, agreed: string, found: string, judged: string, isOutside: boolean}} Condition
 */

const NOTHING_AGREED = "Nothing was agreed on this";
const NOT_NOTED = "Not noted";
const HOURS = "Time in the closed crate";
const SEALS = "Seals";

/**
 * What was neither agreed nor noted is left out.
 *
 * `packed` is the last signed check before that noted numbers of seals, if any.
 *
 * @param {LoanCheckRow} check
 * @param {LoanRow} loan
 * @param {LoanedObjectRow | undefined} loaned
 * @param {LoanCheckRow | undefined} packed
 * @returns {Condition[]}
 */
export function conditionsOf(check, loan, loaned, packed) {
  return allOf(check, loan, loaned, packed).filter(({ agreed, found }) => agreed || found);
}

/**
 * All that is looked at at the check's stage, for those who sign it: what was left out is told, too.
 *
 * @param {LoanCheckRow} check
 * @param {LoanRow} loan
 * @returns {[name: string, words: string][]}
 */
export function notedOf(check, loan) {
  return allOf(check, loan, undefined, undefined).map(({ name, found, judged }) => [
    name,
    name === SEALS && found ? `${found}; ${lowerFirst(judged)}` : found || NOT_NOTED,
  ]);
}

/**
 * @param {LoanCheckRow} check
 * @param {LoanRow} loan
 * @param {LoanedObjectRow | undefined} loaned
 * @param {LoanCheckRow | undefined} packed
 */
function allOf(check, loan, loaned, packed) {
  const isOpened = check.stage === "arrival" || check.stage === "return";
  return [
    crate(check.crate, loaned?.crate ?? ""),
    seals(check, packed),
    // Nobody can wait for a crate that is not opened.
    ...(isOpened || check.hours_acclimatised !== null ? [closed(check, loan)] : []),
    figure("Temperature", check.temperature_c, [loan.coolest_c, loan.warmest_c], "°C", ["cooler", "warmer"]),
    figure("Relative humidity", check.humidity_percent, [loan.driest_percent, loan.dampest_percent], "%", ["lower", "higher"]),
    row("Data logger", "", check.logger, check.logger ? "As noted" : NOT_NOTED),
    glazing(check.glazing, loaned?.glazing ?? ""),
  ];
}

/** @returns {Condition} */
function row(
  /** @type {string} */ name,
  /** @type {string} */ agreed,
  /** @type {string} */ found,
  /** @type {string} */ judged,
  isOutside = false,
) {
  return { name, agreed, found, judged, isOutside };
}

/** @param {string} found @param {string} listed */
function crate(found, listed) {
  if (!found) return row("Crate", listed, found, NOT_NOTED);
  if (!listed) return row("Crate", listed, found, NOTHING_AGREED);
  const isOther = found.trim().toLowerCase() !== listed.trim().toLowerCase();
  return row("Crate", listed, found, isOther ? "Another crate than the list says" : "As listed", isOther);
}

/** @param {LoanCheckRow} check @param {LoanRow} loan */
function closed({ hours_acclimatised }, { hours_to_acclimatise }) {
  return figure(HOURS, hours_acclimatised, [hours_to_acclimatise, null], "h", ["less", "more"]);
}

/** @param {LoanCheckRow} check @param {LoanCheckRow | undefined} packed */
function seals({ seals: numbers, seals_whole }, packed) {
  const at = packed ? notedAt(packed) : "";
  const agreed = packed ? `${packed.seals}, noted ${at}` : "";
  if (packed && !numbers && !seals_whole) return row(SEALS, agreed, "", NOT_NOTED);
  const judged = {
    yes: "Found whole",
    no: "Not found whole",
    "": "Not said whether they were whole",
  }[seals_whole];
  const found = numbers || (seals_whole ? "Their numbers were not noted" : "");
  const isBroken = seals_whole === "no";
  if (!packed || !numbers) return row(SEALS, agreed, found, judged, isBroken);
  const isOther = sealNumbers(numbers) !== sealNumbers(packed.seals);
  const held = isOther ? `Other seals than ${at}: ${packed.seals}` : `The same seals as ${at}`;
  // A crate that was opened on the way was sealed anew.
  const isOutside = isOther && packed.stage === "outgoing";
  return row(SEALS, agreed, found, `${held}. ${judged}`, isOutside || isBroken);
}

/** @param {LoanCheckRow} packed */
function notedAt({ stage }) {
  return stage === "outgoing" ? "at packing" : `at the ${lowerFirst(named("stage", stage))} check`;
}

/** Numbers of seals as they are told in a line, whatever their order. @param {string} seals */
function sealNumbers(seals) {
  const parts = seals.toLowerCase().split(/[,;&\n]|\band\b/);
  const numbers = parts.map((part) => part.replace(/\s+/g, "")).filter(Boolean);
  return JSON.stringify([...new Set(numbers)].sort());
}

/**
 * A figure between two bounds; null for a bound that was not agreed.
 *
 * @param {string} name
 * @param {number | null} found
 * @param {[least: number | null, most: number | null]} bounds
 * @param {string} unit
 * @param {[below: string, above: string]} ways
 */
function figure(name, found, [least, most], unit, [below, above]) {
  const agreed = upperFirst(between(least, most, unit));
  if (found === null) return row(name, agreed, "", NOT_NOTED);
  const words = `${found} ${unit}`;
  if (!agreed) return row(name, agreed, words, NOTHING_AGREED);
  const far = (/** @type {number} */ by) => apart(Number(by.toPrecision(4)), unit);
  if (least !== null && found < least) return row(name, agreed, words, `${far(least - found)} ${below} than agreed`, true);
  if (most !== null && found > most) return row(name, agreed, words, `${far(found - most)} ${above} than agreed`, true);
  return row(name, agreed, words, "Within what was agreed");
}

/** Two per cent beside a per cent are not 2 % of it. @param {number} by @param {string} unit */
function apart(by, unit) {
  return unit === "%" ? `${by} percentage ${by === 1 ? "point" : "points"}` : `${by} ${unit}`;
}

/** @param {LoanCheckRow["glazing"]} state @param {string} listed */
function glazing(state, listed) {
  if (!state) return row("Glazing", listed, "", NOT_NOTED);
  const found = named("glazing", state);
  if (state === "whole") return row("Glazing", listed, found, "In order");
  if (state !== "none") return row("Glazing", listed, found, "Damaged", true);
  return row("Glazing", listed, found, listed ? "Listed as glazed, and is not" : "In order", listed !== "");
}
