/** The walk of a visit: the objects that the desk asked for, in shelf order, and how far each is. */

/** @import { ExaminationRow, StopRow } from "./types.js" */

/** As many letters as the server keeps of a reason. */
const MOST_LETTERS = 300;

/**
 * signed   examined, and the examination is signed
 * missing  could not be examined; the stop says why
 * begun    its examination is not signed yet
 * ahead    nobody has begun it
 * `examination` is the one of this visit that counts.
 * @typedef {"signed" | "missing" | "begun" | "ahead"} State
 * @typedef {{stop: StopRow, state: State, examination: ExaminationRow | undefined}} Stand
 *
 * left        begun or ahead
 * next        the first that is ahead, else the first that is begun; undefined when none is left
 * notCarried  at least so many stops of the walk are not on this tablet
 * Each list is in shelf order.
 * @typedef {{
 *   stands: Stand[],
 *   left: Stand[],
 *   signed: Stand[],
 *   missing: Stand[],
 *   next: Stand | undefined,
 *   notCarried: number,
 * }} Walk
 */

/**
 * How far the walk is, by the rule of survey/collection/queries.py: what is signed counts
 * whatever was said of it before, and what is missing counts until it is signed.
 *
 * @param {StopRow[]} stops  of one visit
 * @param {ExaminationRow[]} examinations  of the same visit
 * @returns {Walk}
 */
export function walkOf(stops, examinations) {
  const counting = examinationsThatCount(examinations);
  const stands = [...stops]
    .sort((a, b) => a.order - b.order)
    .map((stop) => {
      const examination = counting.get(stop.object);
      return { stop, examination, state: stateOf(stop, examination) };
    });
  const of = (/** @type {State[]} */ ...states) =>
    stands.filter(({ state }) => states.includes(state));
  return {
    stands,
    left: of("begun", "ahead"),
    signed: of("signed"),
    missing: of("missing"),
    next: of("ahead")[0] ?? of("begun")[0],
    notCarried: (stands.at(-1)?.stop.order ?? 0) - stands.length,
  };
}

/**
 * Of each object the latest examination, a signed one before any other.
 *
 * @param {ExaminationRow[]} examinations
 * @returns {Map<string, ExaminationRow>}  by the object's key
 */
function examinationsThatCount(examinations) {
  /** @type {Map<string, ExaminationRow>} */
  const counting = new Map();
  const inOrder = [...examinations].sort((a, b) => (a.started_at < b.started_at ? -1 : 1));
  for (const row of inOrder) {
    if (row.signed_at || !counting.get(row.object)?.signed_at) counting.set(row.object, row);
  }
  return counting;
}

/** @param {StopRow} stop @param {ExaminationRow | undefined} examination @returns {State} */
function stateOf({ missing }, examination) {
  if (examination?.signed_at) return "signed";
  if (missing) return "missing";
  return examination ? "begun" : "ahead";
}

/**
 * What keeps the words from being a reason, as a sentence that says what to do; "" if nothing does.
 *
 * @param {string} words
 */
export function reasonTrouble(words) {
  const { length } = words.trim();
  if (!length) return "Say why it could not be examined: tap a reason, or write your own.";
  if (length <= MOST_LETTERS) return "";
  return `Say it in ${MOST_LETTERS} letters at most: these are ${length}. The rest can go into the note on the visit.`;
}
