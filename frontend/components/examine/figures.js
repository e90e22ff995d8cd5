/** Measured values in figures: no more digits than their uncertainty bears. */

import { grouped } from "../wording.js";

/** @type {Record<string, string>} */
const UNITS = { mm: "mm", mm2: "mm²" };

/**
 * "38.2 ± 0.4 mm": the uncertainty with one figure, or two when the first is 1 or 2.
 *
 * @param {{value: number, uncertainty: number}} measured @param {string} unit  "mm" or "mm2"
 */
export function withUncertainty({ value, uncertainty }, unit) {
  const places = placesOf(uncertainty);
  return `${fixed(value, places)} ± ${fixed(uncertainty, places)} ${UNITS[unit] ?? unit}`;
}

/** "Length of the tear, 38.2 ± 0.4 mm" @param {{what: string, value: number, uncertainty: number, unit: string}} row */
export function inWords(row) {
  return `${row.what}, ${withUncertainty(row, row.unit)}`;
}

/** A length that is itself an uncertainty, or small: "0.13 mm". @param {number} mm */
export function short(mm) {
  return `${fixed(mm, placesOf(mm))} mm`;
}

/** @param {number} uncertainty */
function placesOf(uncertainty) {
  if (!(uncertainty > 0)) return 1;
  const first = Math.floor(Math.log10(uncertainty));
  const leading = uncertainty / 10 ** first;
  return Math.min(3, Math.max(0, (leading < 2.95 ? 1 : 0) - first));
}

/** @param {number} value @param {number} places */
function fixed(value, places) {
  const [whole, part] = value.toFixed(places).split(".");
  return part ? `${grouped(Number(whole))}.${part}` : grouped(Number(whole));
}
