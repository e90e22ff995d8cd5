/** A check and the states that its points were known from, read at once for its report. */

import { db } from "../../store/database.js";
import { sheetData } from "../examine/on-sheet/data.js";
import { readWhole } from "../loan/whole-check.js";
import { shownBest } from "./shapes.js";

/** @import { Point as Place } from "../../imaging/geometry.js" */
/** @import { ExaminationRow, MeasurementRow, ObservationRow, PhotographRow, Side } from "../../store/types.js" */
/** @import { WholeCheck } from "../loan/whole-check.js" */

/**
 * A part of a photograph that shows a known point, then or now.
 * @typedef {{key: string, number: number, when: "Earlier" | "Now", state: State, photograph: PhotographRow}} Detail
 */

/**
 * An observation with its number in the report: a known point keeps its own at every state, what
 * is new is numbered after them. `places` are where it lies on its `side`, in sheet mm; none when
 * no photograph tells.
 * @typedef {{number: number, observation: ObservationRow, side: Side, places: Place[]}} Seen
 *
 * One examination with what counts of it in the report.
 * @typedef {{
 *   examination: ExaminationRow,
 *   photographs: PhotographRow[],
 *   seen: Seen[],
 *   sheet: {width_mm: number, height_mm: number} | null,
 * }} State
 *
 * `earlier` are the states that the points were known from, the latest first.
 * @typedef {{whole: WholeCheck, now: State, earlier: State[]}} Report
 */

/**
 * Reads the database only, so that it can be watched.
 *
 * @param {string} id  of the check
 * @returns {Promise<Report | null>}
 */
export async function readReport(id) {
  const whole = await readWhole(id);
  if (!whole) return null;
  const { points, found, examination, photographs, measurements } = whole;
  /** @type {Map<string, number>} */
  const numbers = new Map();
  points.forEach(({ known, now }, at) => {
    numbers.set(known.id, at + 1);
    if (now) numbers.set(now.id, at + 1);
  });
  found.forEach((row, at) => numbers.set(row.id, points.length + at + 1));
  const now = stateOf(examination, photographs, whole.observations, measurements, numbers);
  const known = new Set(points.map((point) => point.known.examination));
  const states = await Promise.all([...known].map((examined) => readState(examined, numbers)));
  const earlier = states
    .filter((state) => state !== null)
    .sort((a, b) => b.examination.started_at.localeCompare(a.examination.started_at));
  return { whole, now, earlier };
}

/** @param {string} id @param {Map<string, number>} numbers @returns {Promise<State | null>} */
async function readState(id, numbers) {
  const examination = await db.examinations.get(id);
  if (!examination) return null;
  const of = { examination: id };
  const [photographs, observations] = await Promise.all([
    db.photographs.where(of).sortBy("id"),
    db.observations.where(of).sortBy("id"),
  ]);
  return stateOf(examination, photographs, observations, [], numbers);
}

/**
 * @param {ExaminationRow} examination
 * @param {PhotographRow[]} photographs
 * @param {ObservationRow[]} observations
 * @param {MeasurementRow[]} measurements
 * @param {Map<string, number>} numbers  by the key of the observation; others do not count
 * @returns {State}
 */
function stateOf(examination, photographs, observations, measurements, numbers) {
  const data = sheetData({ examination, photographs, observations, measurements });
  const rows = new Map(photographs.map((row) => [row.id, row]));
  const seen = observations.flatMap((observation, at) => {
    const number = numbers.get(observation.id);
    const { side, points: places } = data.observations[at];
    return number === undefined ? [] : [{ number, observation, side, places }];
  });
  return {
    examination,
    photographs: data.photographs.flatMap(({ id }) => rows.get(id) ?? []),
    seen: seen.sort((a, b) => a.number - b.number),
    sheet: data.sheet,
  };
}

/**
 * The details that are worth showing: of each point as it was, and as it is where it was seen.
 *
 * @param {Report} report
 * @returns {Detail[]}
 */
export function detailsOf({ whole, now, earlier }) {
  return whole.points.flatMap(({ known, answer, now: seen }, at) => {
    const number = at + 1;
    const state = earlier.find(({ examination }) => examination.id === known.examination);
    const light = known.lights[0] ?? "normal";
    const before = state && shownBest(state, number, { light });
    const after = seen && shownBest(now, number, { wanted: answer?.photograph, light: before?.light ?? light });
    /** @type {Detail[]} */
    const found = [];
    if (state && before) found.push({ key: `${number} earlier`, number, when: "Earlier", state, photograph: before });
    if (after) found.push({ key: `${number} now`, number, when: "Now", state: now, photograph: after });
    return found;
  });
}
