/** What is not sent yet, item by item and in words that outlive the database. */

import { fieldInWords, lowerFirst, named, upperFirst } from "../components/wording.js";
import { read } from "../store/clock.js";
import { db, tableOf } from "../store/database.js";
import { kindOfWork, light, term } from "../store/vocabulary.js";

/** @import { Change, Fields, PhotographRow } from "../store/types.js" */

/**
 * object  the accession number, or what stands for it: a visit's name, a place
 * what    for example "Observation: tear"
 * when    milliseconds since 1970, by the tablet's clock
 * @typedef {{object: string, what: string, when: number}} Item
 */

/** @param {Change} change @returns {Promise<Item & {person: string}>} */
export async function describeChange(change) {
  const row = /** @type {Fields | undefined} */ (await tableOf(change.entity).get(change.entity_id));
  const record = { ...row, ...change.fields };
  return {
    object: await objectOf(change.entity, change.entity_id, record),
    what: whatOf(change, record),
    when: read(change.at).ms,
    person: change.person_name,
  };
}

/** @param {string} sha256 @returns {Promise<Item>} */
export async function describeFile(sha256) {
  const photograph = await db.photographs.where({ sha256 }).first();
  if (!photograph) return { object: "", what: "Photograph", when: 0 };
  return {
    object: await objectOf("photograph", photograph.id, { ...photograph }),
    what: upperFirst(`${photographInWords(photograph)}, the picture itself`),
    when: Date.parse(photograph.taken_at) || 0,
  };
}

/** "raking light, 315°, recto" @param {Pick<PhotographRow, "light" | "azimuth_deg" | "side">} shot */
export function photographInWords({ light: code, azimuth_deg, side }) {
  const azimuth = azimuth_deg === null || azimuth_deg === undefined ? [] : [`${azimuth_deg}°`];
  const name = lowerFirst(light(code)?.name ?? code);
  return [name, ...azimuth, named("side", side).toLowerCase()].join(", ");
}

/**
 * The accession number that a record belongs to, or what stands for it.
 *
 * @param {string} entity
 * @param {string} id
 * @param {Fields} record
 * @returns {Promise<string>}
 */
export async function objectOf(entity, id, record) {
  if (entity === "visit") return text(record.name) || "A visit";
  if (entity === "object") return text(record.accession_number);
  if (entity === "location") return text(record.name);
  const check = text(record.loan_check) && (await db.loan_checks.get(text(record.loan_check)));
  const examination =
    entity === "examination" ? id : text(record.examination) || (check && check.examination) || "";
  const key = text(record.object) || (await db.examinations.get(examination))?.object;
  return (key && (await db.objects.get(key))?.accession_number) || "An object";
}

/** @type {Record<string, (record: Fields) => string>} */
const WHAT = {
  visit: () => "",
  examination: () => "",
  observation: (record) => lowerFirst(term(text(record.term))?.name ?? text(record.term)),
  photograph: (record) => photographInWords(/** @type {any} */ (record)),
  measurement: (record) => text(record.what),
  recommendation: (record) => lowerFirst(kindOfWork(text(record.kind_of_work))?.name ?? text(record.kind_of_work)),
  watermark: (record) => lowerFirst(text(record.motif) || text(record.letters)),
  loan_check: (record) => lowerFirst(named("stage", text(record.stage))),
  point_check: (record) => lowerFirst(named("answer", text(record.answer))),
  signature: (record) => text(record.name),
};

/** @param {Change} change @param {Fields} record */
function whatOf({ entity, fields, creates }, record) {
  const about = WHAT[entity]?.(record) ?? "";
  // A countermark is one in words, though it is kept among the watermarks.
  const kind = entity === "watermark" ? text(record.kind) || entity : entity;
  const name = upperFirst(fieldInWords(kind)) + (about && `: ${about}`);
  if (fields.deleted) return `${name}, removed`;
  if (creates) return name;
  if (fields.signed_at) return `${name}, signed`;
  return `${name}, ${Object.keys(fields).map(fieldInWords).join(", ")}`;
}

/** @param {unknown} value */
function text(value) {
  return typeof value === "string" ? value : "";
}
