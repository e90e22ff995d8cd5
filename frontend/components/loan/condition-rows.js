/** What was noted at packing or unpacking, row by row beside what was agreed: for those who read it later. */

import { named } from "../wording.js";
import { between } from "./conditions.js";

/** @import { LoanCheckRow, LoanedObjectRow, LoanRow } from "../../store/types.js" */

/**
 * agreed, found  in words, with units; "" when nothing was agreed or noted
 * verdict        "" where there is nothing to hold against each other
 * @typedef {{
 *   name: string,
 *   agreed: string,
 *   found: string,
 *   verdict: "" | "As agreed" | "Outside what was agreed" | "Not noted",
 * }} Condition
 */

/**
 * Those that were neither agreed nor noted are left out.
 *
 * @param {LoanCheckRow} check
 * @param {LoanRow | undefined} loan
 * @param {LoanedObjectRow | undefined} loaned
 * @returns {Condition[]}
 */
export function conditionsOf(check, loan, loaned) {
  return [
    same("Crate", loaned?.crate ?? "", check.crate),
    sealsOf(check),
    within("Closed before opening", check.hours_acclimatised, loan?.hours_to_acclimatise ?? null, null, "h"),
    within("Temperature", check.temperature_c, loan?.coolest_c ?? null, loan?.warmest_c ?? null, "°C"),
    within("Relative humidity", check.humidity_percent, loan?.driest_percent ?? null, loan?.dampest_percent ?? null, "%"),
    glazingOf(check, loaned),
    { name: "Data logger", agreed: "", found: check.logger, verdict: /** @type {const} */ ("") },
  ].filter(({ agreed, found }) => agreed || found);
}

/** @param {string} name @param {string} agreed @param {string} found @returns {Condition} */
function same(name, agreed, found) {
  const plain = (/** @type {string} */ words) => words.trim().toLowerCase();
  return { name, agreed, found, verdict: verdictOf(agreed, found, plain(agreed) === plain(found)) };
}

/**
 * A figure between two bounds; null for a bound that was not agreed.
 *
 * @param {string} name @param {number | null} found @param {number | null} least
 * @param {number | null} most @param {string} unit
 * @returns {Condition}
 */
function within(name, found, least, most, unit) {
  const agreed = between(least, most, unit);
  const words = found === null ? "" : `${found} ${unit}`;
  const isWithin = found !== null && found >= (least ?? -Infinity) && found <= (most ?? Infinity);
  return { name, agreed, found: words, verdict: verdictOf(agreed, words, isWithin) };
}

/** @param {LoanCheckRow} check @returns {Condition} */
function sealsOf({ seals, seals_whole }) {
  const state = seals_whole && named("seals_whole", seals_whole).toLowerCase();
  const found = [seals, state].filter(Boolean).join(", ");
  return { name: "Seals", agreed: "Whole", found, verdict: verdictOf("Whole", state, seals_whole === "yes") };
}

/** @param {LoanCheckRow} check @param {LoanedObjectRow | undefined} loaned @returns {Condition} */
function glazingOf({ glazing }, loaned) {
  const found = glazing ? named("glazing", glazing) : "";
  const isSound = glazing === "whole" || glazing === "none";
  const agreed = loaned?.glazing ? `${loaned.glazing}, whole` : "Whole";
  return { name: "Glazing", agreed, found, verdict: verdictOf(agreed, found, isSound) };
}

/** @param {string} agreed @param {string} found @param {boolean} holds @returns {Condition["verdict"]} */
function verdictOf(agreed, found, holds) {
  if (!agreed) return "";
  if (!found) return "Not noted";
  return holds ? "As agreed" : "Outside what was agreed";
}
