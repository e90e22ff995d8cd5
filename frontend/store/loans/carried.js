/**
 * Which loans' pictures this device carries, and how much of each is here: the photographs of its
 * checks, of the states they start from, of the last signed state of each object, and of those in
 * which lies what that state could not see.
 */

import { db, readSetting, writeSetting } from "../database.js";
import { lastSigned } from "../last-signed.js";
import { session } from "../session.js";
import { unseenAt } from "./points.js";

/**
 * pictures  how many photographs there are, by their contents
 * here      how many of them can be looked at without a network, of `bytes` together
 * absent    SHA-256 of those that the server could not give, with its reason in a sentence
 * rows      whether all records of the device are here
 * @typedef {{
 *   pictures: number,
 *   here: number,
 *   bytes: number,
 *   absent: {sha256: string, why: string}[],
 *   rows: boolean,
 * }} Carried
 */

/** Loans whose pictures are carried: the pass's own, or those that were asked for. */
export async function carriedLoans() {
  const asked = /** @type {string[] | undefined} */ (await readSetting("carried_loans"));
  const loan = session.peek()?.loan;
  return loan ? [loan] : (asked ?? []);
}

/** @param {string} loan @param {boolean} isCarried */
export async function setCarried(loan, isCarried) {
  await db.transaction("rw", db.settings, async () => {
    const others = ((await readSetting("carried_loans")) ?? []).filter(
      (/** @type {string} */ each) => each !== loan,
    );
    await writeSetting("carried_loans", isCarried ? [...others, loan] : others);
  });
}

/**
 * The contents of all photographs that are to be looked at on a loan.
 *
 * @param {string} loan
 * @returns {Promise<string[]>}  their SHA-256, those of the last states first
 */
export async function picturesOf(loan) {
  const [loaned, checks] = await Promise.all([
    db.loaned_objects.where({ loan }).toArray(),
    db.loan_checks.where({ loan }).toArray(),
  ]);
  const latest = await Promise.all(loaned.map(({ object }) => lastSigned(object)));
  const states = latest.flatMap((row) => (row ? [row.id] : []));
  const unseen = await Promise.all(states.map(unseenAt));
  const examinations = [
    ...states,
    ...unseen.flat().map(({ examination }) => examination),
    ...checks.flatMap(({ earlier, examination }) => [earlier, examination]),
  ];
  const contents = new Set();
  for (const id of new Set(examinations)) {
    if (!id) continue;
    const photographs = await db.photographs.where({ examination: id }).sortBy("id");
    for (const { sha256 } of photographs) contents.add(sha256);
  }
  return [...contents];
}

/** Those that cannot be looked at here without a network. @param {string[]} contents */
export async function missingOf(contents) {
  const [previews, originals] = await Promise.all([
    db.previews.where("sha256").anyOf(contents).primaryKeys(),
    db.originals.where("sha256").anyOf(contents).filter(({ blob }) => blob !== null).primaryKeys(),
  ]);
  const here = new Set([...previews, ...originals]);
  return contents.filter((sha256) => !here.has(sha256));
}

/**
 * How much of a loan is here. Reads the database only, so that it can be watched.
 *
 * @param {string} loan
 * @returns {Promise<Carried>}
 */
export async function carriedOf(loan) {
  const contents = await picturesOf(loan);
  const [missing, pulled, told] = await Promise.all([
    missingOf(contents),
    readSetting("pull"),
    readSetting("absent_pictures"),
  ]);
  const reasons = /** @type {Record<string, string>} */ (told ?? {});
  let bytes = 0;
  await db.previews.where("sha256").anyOf(contents).each(({ blob }) => void (bytes += blob.size));
  return {
    pictures: contents.length,
    here: contents.length - missing.length,
    bytes,
    absent: missing.flatMap((sha256) => (reasons[sha256] ? [{ sha256, why: reasons[sha256] }] : [])),
    rows: Boolean(pulled?.isWhole) && Boolean(await db.loans.get(loan)),
  };
}
