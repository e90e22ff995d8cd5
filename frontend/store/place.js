/** Remembers where the person was, so that reopening the app returns to the same field. */

import { readSetting, writeSetting } from "./database.js";

/** @import { Place } from "./types.js" */

const PAUSE_MS = 250;

/** @type {Place | null} */
let latest = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;

/**
 * Another route or field is written at once; caret and scroll after a short pause, since they
 * change with every key and every frame.
 *
 * @param {Place} place
 */
export function rememberPlace(place) {
  const moved = place.route !== latest?.route || place.field !== latest?.field;
  latest = place;
  clearTimeout(timer);
  if (moved) write();
  else timer = setTimeout(write, PAUSE_MS);
}

/**
 * Where the person last was in a form. It outlives a visit to other screens.
 *
 * @returns {Promise<Place | null>}
 */
export async function lastPlace() {
  return latest ?? (await readSetting("place")) ?? null;
}

/** The screen that opens first the next time. @param {string} route */
export function rememberRoute(route) {
  keep("route", route);
}

/** @returns {Promise<string | undefined>} */
export function lastRoute() {
  return readSetting("route");
}

function write() {
  keep("place", latest);
}

/** @param {string} key @param {unknown} value */
function keep(key, value) {
  // Nothing the person made is lost with it, so a full disk is not told twice here.
  writeSetting(key, value).catch(() => undefined);
}
