/** What lender and borrower agreed on, in words, and what to do about what is otherwise. */

/** @import { LoanCheckRow, LoanRow } from "../../store/types.js" */

/** Crates stand closed so long where nothing was agreed, h. Common practice, no source. */
export const USUAL_HOURS = 24;

/**
 * The conditions of a loan that were agreed, in the order they are read.
 *
 * @param {LoanRow} loan
 * @returns {[name: string, words: string][]}
 */
export function agreed(loan) {
  /** @type {[string, string][]} */
  const facts = [
    ["Temperature", between(loan.coolest_c, loan.warmest_c, "°C")],
    ["Relative humidity", between(loan.driest_percent, loan.dampest_percent, "%")],
    ["Light", loan.most_lux === null ? "" : `at most ${loan.most_lux} lx`],
    [
      "Ultraviolet radiation",
      loan.most_ultraviolet_uw_lm === null ? "" : `at most ${loan.most_ultraviolet_uw_lm} µW/lm`,
    ],
    [
      "Display angle",
      loan.steepest_display_deg === null
        ? ""
        : `at most ${loan.steepest_display_deg}° from lying flat`,
    ],
    [
      "Closed crate",
      loan.hours_to_acclimatise === null
        ? ""
        : `stands ${loan.hours_to_acclimatise} h before it is opened`,
    ],
  ];
  return facts.filter(([, words]) => words !== "");
}

/** "18 to 22 °C", "at least 18 °C", "at most 22 °C", or "" */
export function between(
  /** @type {number | null} */ low,
  /** @type {number | null} */ high,
  /** @type {string} */ unit,
) {
  if (low !== null && high !== null) return `${low} to ${high} ${unit}`;
  if (low !== null) return `at least ${low} ${unit}`;
  return high === null ? "" : `at most ${high} ${unit}`;
}

/**
 * What to do about what a check found, by the name that it has in condition-rows.js. It advises:
 * the lender and whoever stands by the crate decide.
 *
 * @param {LoanCheckRow} check
 * @param {LoanRow} loan
 * @returns {Record<string, string>}
 */
export function adviceOn(check, loan) {
  /** @type {Record<string, string>} */
  const advice = {};
  const isOpened = check.stage === "arrival" || check.stage === "return";
  const short = (loan.hours_to_acclimatise ?? USUAL_HOURS) - (check.hours_acclimatised ?? Infinity);
  if (isOpened && short > 0) {
    advice["Time in the closed crate"] =
      `Leave the crate closed for ${Math.round(short * 10) / 10} h more, or ask the lender.`;
  }
  if (check.seals_whole === "no") {
    advice.Seals = "Photograph the seals and call the lender before you open the crate.";
  }
  if (check.glazing in GLAZING) advice.Glazing = GLAZING[check.glazing];
  return advice;
}

/** @type {Record<string, string>} */
const GLAZING = {
  scratched: "Say where, in the note.",
  cracked: "Do not lift or turn the frame before the glazing is secured.",
  broken: "Leave the sheet where it lies and call the lender.",
};
