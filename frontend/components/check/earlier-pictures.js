/** The photographs on which a known point can be looked at as it was, the most telling one first. */

import { db } from "../../store/database.js";
import { isOnSheet } from "../examine/words.js";

/** @import { ExaminationRow, ObservationRow, PhotographRow, PointCheckRow } from "../../store/types.js" */

/** A chain of checks longer than this is not followed further back. */
const MOST_STATES = 20;

/**
 * A photograph, and the examination that it belongs to: an unchanged point may have been
 * photographed some checks ago only.
 * @typedef {{photograph: PhotographRow, examination: ExaminationRow}} Earlier
 */

/**
 * @param {ObservationRow} known
 * @returns {Promise<Earlier[]>}
 */
export async function earlierPictures(known) {
  /** @type {Earlier[]} */
  const found = [];
  /** @type {ObservationRow | undefined} */
  let at = known;
  for (let states = 0; at && states < MOST_STATES; states += 1) {
    /** @type {[ExaminationRow | undefined, PhotographRow[], PointCheckRow | undefined]} */
    const [examination, photographs, before] = await Promise.all([
      db.examinations.get(at.examination),
      db.photographs.where({ examination: at.examination }).sortBy("id"),
      carriedOverFrom(at),
    ]);
    const own = photographs.find(({ id }) => id === before?.photograph);
    const others = ranked(photographs.filter((row) => row !== own), at);
    if (examination) {
      found.push(...[...(own ? [own] : []), ...others].map((photograph) => ({ photograph, examination })));
    }
    at = before ? await db.observations.get(before.observation) : undefined;
  }
  return found;
}

/** Whether a photograph shows the side that a point is on, or has its mark. @param {ObservationRow} known @param {Earlier} earlier */
export function isOfItsSide({ side, mark }, { photograph }) {
  return photograph.side === side || mark?.photograph === photograph.id;
}

/** The answer at an earlier check by which an observation was carried over from the state before. @param {ObservationRow} observation */
async function carriedOverFrom({ id, examination }) {
  const checks = await db.loan_checks.where({ examination }).primaryKeys();
  const points = await db.point_checks.where("loan_check").anyOf(checks).toArray();
  return points.find(({ now }) => now === id);
}

/**
 * Those of the observation's side that can show its place come first, in the lights that show it;
 * the light that is named first among them shows it best, as the desk and the reports take it too.
 *
 * @param {PhotographRow[]} photographs
 * @param {Pick<ObservationRow, "side" | "lights" | "region" | "mark">} observation
 * @returns {PhotographRow[]}
 */
export function ranked(photographs, { side, lights, region, mark }) {
  const order = [...new Set([...lights, "normal"])];
  const worth = (/** @type {PhotographRow} */ row) => {
    const isMarked = mark?.photograph === row.id;
    const shows = isMarked || (row.side === side && region !== null && isOnSheet(row));
    const place = order.indexOf(row.light);
    return [row.side === side || isMarked, shows, place < 0 ? 0 : order.length - place].map(Number);
  };
  return [...photographs].sort((a, b) => {
    const [one, other] = [worth(a), worth(b)];
    const at = one.findIndex((value, criterion) => value !== other[criterion]);
    return at < 0 ? 0 : other[at] - one[at];
  });
}
