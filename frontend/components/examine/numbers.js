/** Numbers as a person types them, and the sentences for those that cannot be right. */

import { grouped } from "../wording.js";

/** The longest sheet that is taken, mm: the same bound as the catalogue's. */
const LONGEST_SHEET_MM = 10_000;
/** Standard uncertainty of a length read from a ruler to the millimetre, mm. */
export const RULER_UNCERTAINTY_MM = 1;
const MOST_HOURS = 2000;
const MOST_HOURS_CLOSED = 1000;
const COLDEST_C = -40;
const WARMEST_C = 60;
/** The longest time under the lamp that is taken, s: a day, as on the server. */
export const MOST_LAMP_S = 86_400;
const MOST_CHAIN_LINES = 50;
/** Paper was made in Europe from the 12th century on; printed repertories begin later. */
const FIRST_YEAR = 1000;
const LAST_YEAR = 2100;

/** @typedef {{value: number | null, sentence?: undefined} | {sentence: string, value?: undefined}} Reading */

/**
 * Reads a number with a decimal point or comma; empty text is null.
 *
 * @param {string} text
 * @param {(value: number) => string | undefined} fault  a sentence when the number cannot be right
 * @returns {Reading}
 */
function read(text, fault) {
  const typed = text.trim().replace(/\s/g, "").replace(",", ".");
  if (typed === "") return { value: null };
  const value = /^[-−+]?(\d+\.?\d*|\.\d+)$/.test(typed) ? Number(typed.replace("−", "-")) : NaN;
  if (Number.isNaN(value)) {
    return { sentence: `“${text.trim()}” is not a number. Write it in figures, for example 412.5.` };
  }
  const sentence = fault(value);
  return sentence ? { sentence } : { value };
}

/** A side of the sheet, in mm. */
export function readSheetSide(/** @type {string} */ text) {
  return read(text, (mm) => {
    if (mm < 1) return "A sheet measures at least 1 mm. Measure again, or empty the field.";
    if (mm > LONGEST_SHEET_MM) {
      return `${inFigures(mm)} mm is ${inFigures(mm / 1000)} m. The most that is taken is ${inFigures(LONGEST_SHEET_MM)} mm: check the figure.`;
    }
    return undefined;
  });
}

/** A length on the sheet, in mm. */
export function readLength(/** @type {string} */ text) {
  return read(text, (mm) => {
    if (mm <= 0) return "A length is more than 0 mm. Measure again, or empty the field.";
    if (mm > LONGEST_SHEET_MM) {
      return `A length is at most ${inFigures(LONGEST_SHEET_MM)} mm: check the figure.`;
    }
    return undefined;
  });
}

/** The standard uncertainty of a length, in mm. */
export function readUncertainty(/** @type {string} */ text) {
  return read(text, (mm) => {
    if (mm < 0.01) return "No ruler is that good: give at least 0.01 mm. A ruler usually gives 1 mm.";
    if (mm > 100) return "An uncertainty is at most 100 mm. If it is more, measure again.";
    return undefined;
  });
}

/** A direction, in degrees clockwise from the sheet's top edge. */
export function readAzimuth(/** @type {string} */ text) {
  return read(text, (degrees) =>
    degrees < 0 || degrees > 360 ? "A direction is from 0° to 360°: check the figure." : undefined,
  );
}

/** Hours of work. */
export function readHours(/** @type {string} */ text) {
  return read(text, (hours) => {
    if (hours < 0) return "Hours are 0 or more. Leave them empty if you cannot say.";
    if (hours > MOST_HOURS) return `That is more than ${inFigures(MOST_HOURS)} hours: check the figure.`;
    return undefined;
  });
}

/** Hours that a crate stood closed; the same bound as on the server. */
export function readHoursClosed(/** @type {string} */ text) {
  return read(text, (hours) => {
    if (hours < 0) return "Hours are 0 or more. Leave them empty if nobody can say.";
    if (hours > MOST_HOURS_CLOSED) {
      return `That is more than ${inFigures(MOST_HOURS_CLOSED)} hours: check the figure.`;
    }
    return undefined;
  });
}

/** A temperature of a room or a crate, in °C; the same bounds as on the server. */
export function readTemperature(/** @type {string} */ text) {
  return read(text, (degrees) =>
    degrees < COLDEST_C || degrees > WARMEST_C
      ? `A temperature is from −${-COLDEST_C} to ${WARMEST_C} °C: check the figure and its unit.`
      : undefined,
  );
}

/** Relative humidity, in per cent. */
export function readHumidity(/** @type {string} */ text) {
  return read(text, (percent) =>
    percent < 0 || percent > 100 ? "Relative humidity is from 0 to 100 %: check the figure." : undefined,
  );
}

/** A distance on the sheet, in mm: 0 where two things touch. */
export function readDistance(/** @type {string} */ text) {
  return read(text, (mm) => {
    if (mm < 0) return "A distance is 0 mm or more. Measure again, or empty the field.";
    if (mm > LONGEST_SHEET_MM) {
      return `A distance is at most ${inFigures(LONGEST_SHEET_MM)} mm: check the figure.`;
    }
    return undefined;
  });
}

/** Minutes under the lamp. */
export function readMinutes(/** @type {string} */ text) {
  return read(text, (minutes) => {
    if (minutes < 0) return "A time is 0 minutes or more. Check the figure.";
    if (minutes * 60 > MOST_LAMP_S) return "That is more than a day under the lamp: check the figure.";
    return undefined;
  });
}

/** Seconds under the lamp. */
export function readSeconds(/** @type {string} */ text) {
  return read(text, (seconds) => {
    if (!Number.isInteger(seconds) || seconds < 0) return "Give whole seconds, 0 or more.";
    if (seconds > MOST_LAMP_S) return "That is more than a day under the lamp: check the figure.";
    return undefined;
  });
}

/** How many chain lines. */
export function readChainLines(/** @type {string} */ text) {
  return read(text, (lines) => {
    if (!Number.isInteger(lines) || lines < 0) return "Chain lines are counted: give a whole number, 0 or more.";
    if (lines > MOST_CHAIN_LINES) return `That is more than ${MOST_CHAIN_LINES} chain lines: count again.`;
    return undefined;
  });
}

/** A year of our era. */
export function readYear(/** @type {string} */ text) {
  return read(text, (year) =>
    !Number.isInteger(year) || year < FIRST_YEAR || year > LAST_YEAR
      ? `Give the year in four figures, from ${FIRST_YEAR} to ${LAST_YEAR}, or empty the field.`
      : undefined,
  );
}

/** A number in plain figures, as "12,500" or "0.5". */
export function inFigures(/** @type {number} */ value) {
  return grouped(Math.round(value * 1000) / 1000);
}
