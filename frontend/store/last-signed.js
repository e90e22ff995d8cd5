/** Which examination holds the last recorded state of an object. */

import { db } from "./database.js";

/** @import { ExaminationRow } from "./types.js" */

/**
 * The newest signed examination of an object by when it was begun, as the server has it too: a
 * signature that came late tells nothing newer of the sheet.
 *
 * @param {string} object
 * @param {string} [but]  an examination to leave out
 * @returns {Promise<ExaminationRow | undefined>}
 */
export async function lastSigned(object, but) {
  return (await allSigned(object, but)).at(-1);
}

/** The signed examinations of an object, oldest first. @param {string} object @param {string} [but] */
export function allSigned(object, but) {
  return db.examinations
    .where({ object })
    .filter((row) => row.id !== but && row.signed_at !== null)
    .sortBy("started_at");
}
