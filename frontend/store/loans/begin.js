/** Begins the check of one object: its visit, its examination and the check itself, all at once. */

import { db } from "../database.js";
import { newId } from "../ids.js";
import { lastSigned } from "../last-signed.js";
import { signedIn } from "../outbox.js";
import { createTogether } from "../write.js";

/** @import { ExaminationRow, LoanedObjectRow, LoanRow, ObjectRow, Stage } from "../types.js" */

/** In the order of a journey. @type {Stage[]} */
export const STAGES = ["outgoing", "arrival", "interim", "return"];

/** As many letters as the server keeps of a visit's name and its place. */
const MOST_NAME = 120;
const MOST_PLACE = 200;

/**
 * Which check is due next, after those that are signed; none while the object is on view.
 *
 * @param {Stage[]} signed  first to last
 * @param {Pick<LoanRow, "last_day">} loan
 * @param {string} today  "2027-01-31"
 * @returns {Stage | null}
 */
export function stageDue(signed, { last_day }, today) {
  const last = signed.at(-1);
  if (!last) return "outgoing";
  if (last === "outgoing") return "arrival";
  return last !== "return" && today >= last_day ? "return" : null;
}

/**
 * Where a check takes place, as the loan has it: with the lender as it leaves and comes back, else
 * at the venue of these days, or the next one.
 *
 * @param {Stage} stage
 * @param {Pick<LoanRow, "lender" | "borrower" | "venues">} loan
 * @param {string} today  "2027-01-31"
 */
export function venueOf(stage, { lender, borrower, venues }, today) {
  if (stage === "outgoing" || stage === "return") return lender;
  const now = venues.find(({ last_day }) => last_day >= today) ?? venues.at(-1);
  return now?.name ?? borrower;
}

/** The day of a moment where the device is, as "2027-01-31". @param {number | string} moment */
export function localDay(moment) {
  const date = new Date(moment);
  const [month, day] = [date.getMonth() + 1, date.getDate()];
  return [date.getFullYear(), month, day].map((n) => String(n).padStart(2, "0")).join("-");
}

/**
 * @param {LoanRow} loan
 * @param {LoanedObjectRow} loaned
 * @param {Stage} stage
 * @param {string} visitName  for example "Arrival check, L.2026.4"
 * @returns {Promise<string>}  the check's key; that of one that is begun already, if there is one
 * @throws {Error} with a sentence when it could not be kept
 */
export async function beginCheck(loan, loaned, stage, visitName) {
  const now = Date.now();
  const venue = venueOf(stage, loan, localDay(now));
  let check = newId();
  await createTogether(async () => {
    const begun = await begunCheck(loan.id, loaned.object, stage);
    if (begun) {
      check = begun.id;
      return [];
    }
    const [object, earlier, visitOfDay] = await Promise.all([
      db.objects.get(loaned.object),
      lastSigned(loaned.object),
      visitOn(loan.id, stage, localDay(now)),
    ]);
    const [visit, examination] = [visitOfDay ?? newId(), newId()];
    const started_at = new Date(now).toISOString();
    const atHome = stage === "outgoing" && object?.location;
    /** @type {Parameters<typeof createTogether>[0] extends () => Promise<infer L> ? L : never} */
    const records = [
      {
        entity: "examination",
        id: examination,
        fields: {
          visit,
          object: loaned.object,
          started_at,
          location: atHome ? object.location : null,
          place: atHome ? "" : venue,
          ...sheetAsKnown(object, earlier),
        },
      },
      {
        entity: "loan_check",
        id: check,
        fields: {
          loan: loan.id,
          examination,
          earlier: earlier?.id ?? null,
          stage,
          venue,
          crate: loaned.crate,
        },
      },
    ];
    if (visitOfDay) return records;
    const place = venue.slice(0, MOST_PLACE);
    const name = visitName.slice(0, MOST_NAME);
    return [
      { entity: "visit", id: visit, fields: { purpose: "loan-check", name, place, started_at } },
      ...records,
    ];
  });
  return check;
}

/**
 * The sheet's size as it was measured last, else as the catalogue has it. It is the frame of what
 * is outlined on the sheet, so it is taken over with it.
 *
 * @param {ObjectRow | undefined} object
 * @param {ExaminationRow | undefined} earlier
 */
function sheetAsKnown(object, earlier) {
  if (earlier?.sheet_width_mm && earlier.sheet_height_mm) {
    const { sheet_width_mm, sheet_height_mm, sheet_uncertainty_mm, mount } = earlier;
    return { sheet_width_mm, sheet_height_mm, sheet_uncertainty_mm, mount };
  }
  return {
    sheet_width_mm: object?.width_mm ?? null,
    sheet_height_mm: object?.height_mm ?? null,
    mount: earlier?.mount ?? "",
  };
}

/**
 * Whether the check of this examination may be written in here, or signed. With a pass only one's
 * own: what others made is carried to be read, and the server takes nothing for it from the pass.
 *
 * @param {Pick<ExaminationRow, "examiner">} examination
 */
export function mayWrite({ examiner }) {
  const { loan, person } = signedIn();
  return !loan || !examiner || examiner === person.id;
}

/** Whether a check that is not signed yet can be gone on with. @param {ExaminationRow | undefined} examination */
export function canGoOn(examination) {
  return examination !== undefined && !examination.signed_at && mayWrite(examination);
}

/**
 * A check of the same object and stage that is not signed yet.
 *
 * @param {string} loan @param {string} object @param {Stage} stage
 */
async function begunCheck(loan, object, stage) {
  const open = await db.loan_checks
    .where({ loan })
    .filter((row) => row.stage === stage && !row.statement)
    .toArray();
  const examinations = await db.examinations.bulkGet(open.map((row) => row.examination));
  return open.find((_, at) => examinations[at]?.object === object && canGoOn(examinations[at]));
}

/**
 * The visit on which this person checks objects of the loan on that day, at that stage.
 *
 * @param {string} loan @param {Stage} stage @param {string} day
 * @returns {Promise<string | undefined>}
 */
async function visitOn(loan, stage, day) {
  const checks = await db.loan_checks.where({ loan }).filter((row) => row.stage === stage).toArray();
  const examinations = await db.examinations.bulkGet(checks.map((row) => row.examination));
  const visits = await db.visits.bulkGet(examinations.flatMap((row) => (row ? [row.visit] : [])));
  const me = signedIn().person.id;
  return visits.find(
    (row) =>
      row?.purpose === "loan-check" &&
      row.person === me &&
      !row.ended_at &&
      localDay(row.started_at) === day,
  )?.id;
}
