/**
 * A hybrid logical clock: wall time, with a counter that keeps the order of events when the
 * wall clock stands still or is put back (Kulkarni and others, "Logical Physical Clocks",
 * OPODIS 2014).
 *
 * A reading is `{milliseconds, 13 digits}-{counter, 4 hex digits}-{device id}`; readings
 * compare as plain strings.
 */

/** @typedef {{ms: number, counter: number}} Time */

/** @type {Time} */
export const START = { ms: 0, counter: 0 };

const MOST_IN_ONE_MS = 0xffff;

/**
 * The time of the next event on this device: always later than `last`.
 *
 * @param {Time} last
 * @param {number} now  wall clock, milliseconds since 1970
 * @returns {Time}
 */
export function tick(last, now) {
  if (now > last.ms) return { ms: now, counter: 0 };
  if (last.counter < MOST_IN_ONE_MS) return { ms: last.ms, counter: last.counter + 1 };
  return { ms: last.ms + 1, counter: 0 };
}

/**
 * The later of two times: taking in a reading from elsewhere puts what follows after it.
 *
 * @param {Time} last
 * @param {Time} heard
 * @returns {Time}
 */
export function later(last, heard) {
  const isLater = heard.ms > last.ms || (heard.ms === last.ms && heard.counter > last.counter);
  return isLater ? heard : last;
}

/** @param {Time} time @param {string} device */
export function write({ ms, counter }, device) {
  return `${String(ms).padStart(13, "0")}-${counter.toString(16).padStart(4, "0")}-${device}`;
}

/**
 * @param {string} reading
 * @returns {Time}  START when the text is not a reading
 */
export function read(reading) {
  const parts = /^(\d{13})-([0-9a-f]{4})-/.exec(reading);
  return parts ? { ms: Number(parts[1]), counter: parseInt(parts[2], 16) } : START;
}
