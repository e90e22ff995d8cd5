/** What lender and borrower agreed on, in words, and what was found held against it. */

/** @import { LoanCheckRow, LoanedObjectRow, LoanRow } from "../../store/types.js" */

/** Crates stand closed so long where nothing was agreed, h. Common practice, no source. */
export const USUAL_HOURS = 24;

/**
 * A condition that was found. `holds` is null where nothing was agreed about it, or nothing said.
 * @typedef {{field: string, holds: boolean | null, sentence: string}} Found
 */

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
 * What a check found, held against the loan: one sentence for each thing that was said.
 *
 * @param {LoanRow} loan
 * @param {LoanCheckRow} check
 * @param {LoanedObjectRow} [loaned]  how the object is listed
 * @returns {Found[]}
 */
export function heldAgainst(loan, check, loaned) {
  return [
    crate(check, loaned),
    hoursClosed(loan, check),
    seals(check),
    climate("temperature_c", "°C", check.temperature_c, loan.coolest_c, loan.warmest_c),
    climate("humidity_percent", "% relative humidity", check.humidity_percent, loan.driest_percent, loan.dampest_percent),
    glazing(check),
  ].filter((found) => found !== null);
}

/** @param {LoanCheckRow} check @param {LoanedObjectRow | undefined} loaned @returns {Found | null} */
function crate({ crate: found }, loaned) {
  const plain = (/** @type {string} */ words) => words.trim().toLowerCase();
  if (!loaned?.crate || !found.trim() || plain(found) === plain(loaned.crate)) return null;
  return {
    field: "crate",
    holds: false,
    sentence: `${found.trim()} is another crate than the list says, which is ${loaned.crate}.`,
  };
}

/** @param {LoanRow} loan @param {LoanCheckRow} check @returns {Found | null} */
function hoursClosed({ hours_to_acclimatise }, { stage, hours_acclimatised: hours }) {
  const field = "hours_acclimatised";
  if (hours === null || stage === "outgoing" || stage === "interim") return null;
  const needed = hours_to_acclimatise ?? USUAL_HOURS;
  const by = hours_to_acclimatise === null ? "usual" : "agreed";
  if (hours >= needed) return { field, holds: true, sentence: `${hours} h closed; ${needed} h ${by}.` };
  return {
    field,
    holds: false,
    sentence:
      `${hours} h closed of the ${needed} h ${by}: leave the crate closed for ` +
      `${rounded(needed - hours)} h more, or ask the lender.`,
  };
}

/** @param {LoanCheckRow} check @returns {Found | null} */
function seals({ seals_whole }) {
  const field = "seals_whole";
  if (!seals_whole) return null;
  if (seals_whole === "yes") return { field, holds: true, sentence: "The seals are whole." };
  return {
    field,
    holds: false,
    sentence: "A seal is broken or missing: photograph it and call the lender before you open.",
  };
}

/**
 * @param {string} field @param {string} unit
 * @param {number | null} value @param {number | null} low @param {number | null} high
 * @returns {Found | null}
 */
function climate(field, unit, value, low, high) {
  if (value === null) return null;
  const limits = between(low, high, unit);
  const reading = `${value} ${unit}`;
  if (!limits) return { field, holds: null, sentence: `${reading}; no limits were agreed.` };
  if (low !== null && value < low) {
    return { field, holds: false, sentence: `${reading}: ${rounded(low - value)} below what was agreed, ${limits}.` };
  }
  if (high !== null && value > high) {
    return { field, holds: false, sentence: `${reading}: ${rounded(value - high)} above what was agreed, ${limits}.` };
  }
  return { field, holds: true, sentence: `${reading}: within what was agreed, ${limits}.` };
}

/** @type {Record<string, [holds: boolean, sentence: string]>} */
const GLAZING = {
  none: [true, "The sheet is not glazed."],
  whole: [true, "The glazing is whole."],
  scratched: [false, "The glazing is scratched or chipped: say where, below."],
  cracked: [false, "The glazing is cracked: do not lift or turn the frame before it is secured."],
  broken: [false, "The glazing is broken: leave the sheet where it lies and call the lender."],
};

/** @param {LoanCheckRow} check @returns {Found | null} */
function glazing({ glazing: found }) {
  if (!(found in GLAZING)) return null;
  const [holds, sentence] = GLAZING[found];
  return { field: "glazing", holds, sentence };
}

/** A difference of two readings, without the noise of binary fractions. */
function rounded(/** @type {number} */ value) {
  return Math.round(value * 10) / 10;
}
