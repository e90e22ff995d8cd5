/**
 * The tablet's database. One table for each kind of record, keyed by id, and beside them the
 * changes that wait to be sent, the photographs' files, and the app's own settings.
 */

import Dexie from "../vendor/dexie.js";
import { oneWriteAtATime } from "./one-write.js";
import { keepVersionsApart } from "./other-versions.js";

/** @import { EntityTable, Table } from "../vendor/dexie.js" */
/** @import * as Rows from "./types.js" */

/**
 * @typedef {Dexie & {
 *   locations: EntityTable<Rows.LocationRow, "id">,
 *   objects: EntityTable<Rows.ObjectRow, "id">,
 *   moves: EntityTable<Rows.MoveRow, "id">,
 *   visits: EntityTable<Rows.VisitRow, "id">,
 *   examinations: EntityTable<Rows.ExaminationRow, "id">,
 *   photographs: EntityTable<Rows.PhotographRow, "id">,
 *   observations: EntityTable<Rows.ObservationRow, "id">,
 *   measurements: EntityTable<Rows.MeasurementRow, "id">,
 *   recommendations: EntityTable<Rows.RecommendationRow, "id">,
 *   watermarks: EntityTable<Rows.WatermarkRow, "id">,
 *   amendments: EntityTable<Rows.AmendmentRow, "id">,
 *   loans: EntityTable<Rows.LoanRow, "id">,
 *   loaned_objects: EntityTable<Rows.LoanedObjectRow, "id">,
 *   loan_checks: EntityTable<Rows.LoanCheckRow, "id">,
 *   point_checks: EntityTable<Rows.PointCheckRow, "id">,
 *   signatures: EntityTable<Rows.SignatureRow, "id">,
 *   stops: EntityTable<Rows.StopRow, "id">,
 *   questions: EntityTable<Rows.Question, "id">,
 *   outbox: Table<Rows.Change, number>,
 *   originals: EntityTable<Rows.Original, "sha256">,
 *   uploads: EntityTable<Rows.Sending, "sha256">,
 *   thumbnails: EntityTable<Rows.Thumbnail, "sha256">,
 *   previews: EntityTable<Rows.Thumbnail, "sha256">,
 *   settings: EntityTable<Rows.Setting, "key">,
 * }} Database
 */

export const db = /** @type {Database} */ (
  // "strict": a write is reported done only when it has reached the disk, so that a battery
  // pulled a moment later takes nothing with it. Browsers without the option ignore it.
  new Dexie("fieldleaf", { chromeTransactionDurability: "strict" })
);

db.version(1).stores({
  locations: "id, parent",
  objects: "id, accession_number, location",
  moves: "id, object",
  visits: "id, person, started_at",
  examinations: "id, visit, object",
  photographs: "id, examination, sha256",
  observations: "id, examination",
  measurements: "id, examination, observation",
  recommendations: "id, examination",
  amendments: "id, examination",
  questions: "id, entity_id",
  // [state+person] lists a person's waiting changes in order.
  outbox: "++order, &id, entity_id, state, person, [state+person]",
  // Its further indexes served version 1 only; see uploads below.
  originals: "sha256, [sent+size_bytes], trouble",
  thumbnails: "sha256",
  settings: "key",
});

// A file's state stands apart from the file: Chromium writes the whole file anew each time its
// row is put, so on a full tablet no photograph could be marked as sent, nor its room freed.
db.version(2)
  // [sent+size_bytes] counts and adds up what waits without reading the rows.
  .stores({ uploads: "sha256, [sent+size_bytes], trouble" })
  .upgrade(async (upgrade) => {
    /** @type {Rows.Sending[]} */
    const uploads = [];
    await upgrade.table("originals").each((original) => void uploads.push(sendingOf(original)));
    await upgrade.table("uploads").bulkPut(uploads);
  });

db.version(3).stores({ watermarks: "id, examination" });

db.version(4).stores({
  loans: "id",
  loaned_objects: "id, loan, object",
  loan_checks: "id, loan, examination",
  point_checks: "id, loan_check",
  signatures: "id, loan_check",
  // The walk of a collection survey: which objects, in which order.
  stops: "id, visit, object",
  // Photographs of a size worth comparing, carried for where there is no network.
  previews: "sha256",
});

/**
 * How far a file is sent, as version 1 kept it: in the row of the file.
 *
 * @param {Rows.Original & {sent?: 0 | 1, trouble?: string, upload_url?: string | null}} original
 * @returns {Rows.Sending}
 */
export function sendingOf({ sha256, size_bytes, sent = 0, trouble = "", upload_url = null }) {
  return { sha256, size_bytes, sent, bytes_sent: 0, trouble, url: upload_url };
}

oneWriteAtATime(db);
keepVersionsApart(db);

/** The table that holds each kind of record. */
export const TABLES = /** @type {const} */ ({
  location: "locations",
  object: "objects",
  move: "moves",
  visit: "visits",
  examination: "examinations",
  photograph: "photographs",
  observation: "observations",
  measurement: "measurements",
  recommendation: "recommendations",
  watermark: "watermarks",
  amendment: "amendments",
  loan: "loans",
  loaned_object: "loaned_objects",
  loan_check: "loan_checks",
  point_check: "point_checks",
  signature: "signatures",
  stop: "stops",
});

/**
 * The table of one kind of record.
 *
 * @template {Rows.Entity} E
 * @param {E} entity
 * @returns {Table<Rows.Rows[E], string>}
 */
export function tableOf(entity) {
  return db.table(TABLES[entity]);
}

/**
 * @template T
 * @param {string} key
 * @returns {Promise<T | undefined>}
 */
export async function readSetting(key) {
  return (await db.settings.get(key))?.value;
}

/** @param {string} key @param {unknown} value */
export async function writeSetting(key, value) {
  await db.settings.put({ key, value });
}
