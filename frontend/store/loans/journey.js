/** A loan as it stands on this device: its objects in the order of their crates, each with its chain. */

import { db, readSetting } from "../database.js";
import { allSigned } from "../last-signed.js";
import { canGoOn, localDay, stageDue } from "./begin.js";
import { knownPoints, openPoints } from "./points.js";

/** @import { ExaminationRow, LoanCheckRow, LoanedObjectRow, LoanRow, ObjectRow, PhotographRow, Stage } from "../types.js" */

/**
 * One check of the chain. `left` is how many known points are still open; 0 once it is signed.
 * `signed_at` is when its first signature was given, null where none is here.
 * @typedef {{
 *   check: LoanCheckRow,
 *   examination: ExaminationRow | undefined,
 *   signed_at: string | null,
 *   left: number,
 *   known: number,
 * }} Link
 *
 * One object on its journey. `open` is the check that is begun and not signed, `due` the one to
 * begin, if any; `photograph` shows its last signed state that was photographed.
 * @typedef {{
 *   loaned: LoanedObjectRow,
 *   object: ObjectRow | undefined,
 *   chain: Link[],
 *   open: Link | null,
 *   due: Stage | null,
 *   last: ExaminationRow | undefined,
 *   photograph: PhotographRow | undefined,
 * }} Traveller
 *
 * isWhole: all records were here once; before that a check would begin from less than is known
 * @typedef {{loan: LoanRow, travellers: Traveller[], isWhole: boolean}} Journey
 */

/**
 * Reads the database only, so that it can be watched.
 *
 * @param {string} id
 * @returns {Promise<Journey | null>}  null when the loan is not carried
 */
export async function readJourney(id) {
  const loan = await db.loans.get(id);
  if (!loan) return null;
  const [loaned, checks] = await Promise.all([
    db.loaned_objects.where({ loan: id }).toArray(),
    db.loan_checks.where({ loan: id }).toArray(),
  ]);
  const examinations = await db.examinations.bulkGet(checks.map(({ examination }) => examination));
  const links = await Promise.all(
    checks.map(async (check, at) => ({
      check,
      examination: examinations[at],
      signed_at: await signedAt(check),
      ...(await pointsOf(check)),
    })),
  );
  const today = localDay(Date.now());
  const travellers = await Promise.all(
    inCrateOrder(loaned).map(async (each) => {
      const chain = links
        .filter(({ examination }) => examination?.object === each.object)
        .sort((a, b) => begun(a).localeCompare(begun(b)));
      const open = chain.find(({ check, examination }) => !check.statement && canGoOn(examination)) ?? null;
      const signed = chain.filter(({ check }) => check.statement).map(({ check }) => check.stage);
      const [object, states] = await Promise.all([db.objects.get(each.object), allSigned(each.object)]);
      return {
        loaned: each,
        object,
        chain,
        open,
        due: open || !object ? null : stageDue(signed, loan, today),
        last: states.at(-1),
        photograph: await pictureOf(states),
      };
    }),
  );
  const [wasWhole, pulled] = await Promise.all([readSetting("was_whole"), readSetting("pull")]);
  return { loan, travellers, isWhole: Boolean(wasWhole || pulled?.isWhole) };
}

/**
 * Of the newest state that was photographed: normal light from the front before the others.
 *
 * @param {ExaminationRow[]} states  oldest first
 * @returns {Promise<PhotographRow | undefined>}
 */
async function pictureOf(states) {
  for (const { id } of [...states].reverse()) {
    const photographs = await db.photographs.where({ examination: id }).sortBy("id");
    const front = photographs.find(({ light, side }) => light === "normal" && side === "recto");
    if (photographs.length) return front ?? photographs[0];
  }
  return undefined;
}

/** @param {Link} link */
function begun({ check, examination }) {
  return examination?.started_at ?? check.id;
}

/** @param {LoanCheckRow} check */
async function signedAt({ id, statement }) {
  if (!statement) return null;
  const [first] = await db.signatures.where({ loan_check: id }).sortBy("signed_at");
  return first?.signed_at ?? null;
}

/** @param {LoanCheckRow} check */
async function pointsOf(check) {
  if (check.statement) return { left: 0, known: 0 };
  const [open, known] = await Promise.all([openPoints(check), knownPoints(check)]);
  return { left: open.length, known: known.length };
}

/** Crate 2 before crate 10, and within a crate as the loan lists them. @param {LoanedObjectRow[]} rows */
export function inCrateOrder(rows) {
  return [...rows].sort(
    (a, b) =>
      a.crate.localeCompare(b.crate, undefined, { numeric: true }) ||
      a.order - b.order ||
      a.id.localeCompare(b.id),
  );
}

/**
 * What is to be done next on the whole loan: the stage at which the objects stand that have come
 * least far, and how many of them.
 *
 * @param {Traveller[]} travellers
 * @returns {{stage: Stage, left: number, of: number, first: Traveller} | null}  null when nothing is due
 */
export function nextOf(travellers) {
  const stageOf = (/** @type {Traveller} */ each) => each.open?.check.stage ?? each.due;
  const waiting = travellers.filter(stageOf);
  if (waiting.length === 0) return null;
  const signed = (/** @type {Traveller} */ { chain }) => chain.filter(({ check }) => check.statement).length;
  const fewest = Math.min(...waiting.map(signed));
  const behind = waiting.filter((each) => signed(each) === fewest);
  const stage = /** @type {Stage} */ (stageOf(behind[0]));
  const left = behind.filter((each) => stageOf(each) === stage);
  return {
    stage,
    left: left.length,
    of: travellers.length,
    // What is begun is finished first.
    first: left.find(({ open }) => open) ?? left[0],
  };
}
