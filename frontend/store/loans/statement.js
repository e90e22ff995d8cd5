/**
 * What is signed at a check: all that it says, as one JSON text that is kept word for word. The
 * same as survey/loans/statements.py and stated.py make: the same fields of the same rows, keys in
 * order, nothing between them, moments in UTC to the millisecond. A number may be written
 * otherwise (310 and 310.0): texts are compared by what they say, signatures by their bytes.
 */

import { EMPTY } from "../beginnings.js";
import { db } from "../database.js";

/** @import { Entity, LoanCheckRow } from "../types.js" */

export const KIND = "fieldleaf loan check";
export const VERSION = 1;

/**
 * The parts of a statement: whose rows they are, and which fields are said of each.
 * @type {Record<string, {entity: Entity, fields: string[]}>}
 */
export const PARTS = {
  loan: {
    entity: "loan",
    fields: ["id", "reference", "title", "lender", "borrower", "first_day", "last_day"],
  },
  object: {
    entity: "object",
    fields: ["id", "accession_number", "title", "maker", "date_text", "width_mm", "height_mm"],
  },
  check: {
    entity: "loan_check",
    fields: [
      "id",
      "earlier",
      "stage",
      "venue",
      "crate",
      "seals",
      "seals_whole",
      "hours_acclimatised",
      "logger",
      "temperature_c",
      "humidity_percent",
      "glazing",
      "note",
    ],
  },
  examination: {
    entity: "examination",
    fields: [
      "id",
      "started_at",
      "sheet_width_mm",
      "sheet_height_mm",
      "sheet_uncertainty_mm",
      "mount",
      "verso_seen",
      "nothing_seen",
      "grade",
      "notes",
    ],
  },
  observations: {
    entity: "observation",
    fields: [
      "id",
      "term",
      "nature",
      "extent",
      "severity",
      "side",
      "lights",
      "note",
      "mark",
      "region",
    ],
  },
  measurements: {
    entity: "measurement",
    fields: ["id", "observation", "what", "value", "uncertainty", "unit"],
  },
  photographs: {
    entity: "photograph",
    fields: ["id", "light", "azimuth_deg", "side", "sha256", "taken_at", "caption"],
  },
  points: {
    entity: "point_check",
    fields: ["id", "observation", "answer", "reason", "photograph", "now"],
  },
};

const MOMENTS = ["started_at", "taken_at"];
/** The loan and the catalogue go on after a signature; what was seen does not. */
const GOES_ON = ["loan", "object"];

/**
 * The text to be signed, from the rows as they stand. Reads the database only.
 *
 * @param {LoanCheckRow} check
 * @throws {Error} with a sentence when a record that belongs to it is not carried
 */
export async function statementOf(check) {
  return written(await contentOf(check));
}

/** @param {LoanCheckRow} check @returns {Promise<Record<string, unknown>>} */
async function contentOf(check) {
  const [loan, examination] = await Promise.all([
    db.loans.get(check.loan),
    db.examinations.get(check.examination),
  ]);
  const object = examination && (await db.objects.get(examination.object));
  if (!loan || !examination || !object) {
    throw new Error(
      "Part of this check is not on this device, so it cannot be signed here. Send and receive on " +
        "the Sync screen, then open it again.",
    );
  }
  const of = { examination: examination.id };
  // By key: their order in the text is that of the server.
  const [observations, measurements, photographs, points] = await Promise.all([
    db.observations.where(of).sortBy("id"),
    db.measurements.where(of).sortBy("id"),
    db.photographs.where(of).sortBy("id"),
    db.point_checks.where({ loan_check: check.id }).sortBy("id"),
  ]);
  const rows = { loan, object, check, examination, observations, measurements, photographs, points };
  const said = Object.entries(rows).map(([part, held]) => [
    part,
    Array.isArray(held) ? held.map((row) => saidOf(part, row)) : saidOf(part, held),
  ]);
  return { kind: KIND, version: VERSION, ...Object.fromEntries(said) };
}

/**
 * The fields of one row that are signed. A row that an older app made may lack a field: it then
 * says what the server fills in.
 *
 * @param {string} part @param {object} row
 */
function saidOf(part, row) {
  const { entity, fields } = PARTS[part];
  const held = { ...EMPTY[entity], .../** @type {Record<string, unknown>} */ (row) };
  return Object.fromEntries(
    fields.map((field) => {
      const value = held[field] ?? null;
      return [field, MOMENTS.includes(field) && typeof value === "string" ? moment(value) : value];
    }),
  );
}

/**
 * A moment in UTC, cut to the millisecond, whatever its zone and its digits.
 *
 * @param {string} text  ISO 8601
 */
export function moment(text) {
  // Not left to the browser: not every one cuts further digits off; some round.
  return new Date(text.replace(/(\.\d{3})\d+/, "$1")).toISOString();
}

/** JSON with the keys of every object in order. @param {unknown} content */
function written(content) {
  return JSON.stringify(content, (_, value) =>
    value !== null && typeof value === "object" && !Array.isArray(value)
      ? Object.fromEntries(Object.keys(value).sort().map((key) => [key, value[key]]))
      : value,
  );
}

/**
 * Which parts of a check say something else by now than what was signed, by their names in PARTS.
 *
 * @param {string} statement  what was signed
 * @param {string} now  the text as the rows stand
 * @returns {string[]}
 */
export function partsThatDiffer(statement, now) {
  const [before, after] = [JSON.parse(statement), JSON.parse(now)];
  return Object.keys(PARTS).filter(
    (part) => !GOES_ON.includes(part) && written(before[part]) !== written(after[part]),
  );
}
