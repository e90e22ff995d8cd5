/**
 * Finds objects among all that the tablet carries, in memory: a search takes well under a
 * frame, however often the person types. The index is built on first use, not at start.
 */

import { liveQuery } from "../vendor/dexie.js";
import { db } from "./database.js";
import { fold } from "./fold.js";
import { placesOf } from "./locations.js";

/** @import { LocationRow, ObjectRow } from "./types.js" */


/**
 * `words` is every searchable word with a space before it, so that a space and the start of a
 * word find it; `number` is the accession number without marks between its parts.
 * @typedef {{row: ObjectRow, words: string, number: string}} Entry
 */

/** @type {Promise<Entry[]> | null} */
let index = null;

/**
 * Objects in which every word of the text begins some word of the accession number, title,
 * maker or place. Those whose accession number begins so come first.
 *
 * @param {string} text
 * @param {number} limit  at most so many
 * @returns {Promise<ObjectRow[]>}
 */
export async function searchObjects(text, limit) {
  return findIn(await entries(), text, limit);
}

/**
 * The object with exactly this accession number, as typed or read from a code: capitals,
 * spaces and marks between its parts do not matter.
 *
 * @param {string} text
 * @returns {Promise<ObjectRow | undefined>}
 */
export async function findByAccession(text) {
  const number = fold(text).join("");
  return (await entries()).find((entry) => entry.number === number)?.row;
}

/**
 * @param {ObjectRow[]} objects
 * @param {LocationRow[]} locations
 * @returns {Entry[]} in the order of accession numbers
 */
export function indexOf(objects, locations) {
  const places = placesOf(locations);
  /** @type {Map<string | null, string[]>} */
  const placeWords = new Map();
  const collator = new Intl.Collator("en-GB", { numeric: true });
  return objects
    .map((row) => {
      let place = placeWords.get(row.location);
      if (!place) placeWords.set(row.location, (place = fold(places.words(row.location))));
      const number = fold(row.accession_number).join("");
      const own = fold(`${row.accession_number} ${row.title} ${row.maker} ${row.off_site_place}`);
      return { row, number, words: ` ${[number, ...own, ...place].join(" ")}` };
    })
    .sort((a, b) => collator.compare(a.row.accession_number, b.row.accession_number));
}

/** @param {Entry[]} all @param {string} text @param {number} limit */
export function findIn(all, text, limit) {
  const wanted = fold(text);
  const number = wanted.join("");
  const found = all.filter((entry) => wanted.every((word) => entry.words.includes(` ${word}`)));
  const byNumber = number ? all.filter((entry) => entry.number.startsWith(number)) : [];
  return [...new Set([...byNumber, ...found])].slice(0, limit).map((entry) => entry.row);
}

/** The index, kept in step with the database from the first time it is asked for. */
function entries() {
  return (index ??= new Promise((resolve, reject) => {
    liveQuery(() => Promise.all([db.objects.toArray(), db.locations.toArray()])).subscribe({
      next: ([objects, locations]) => {
        const built = indexOf(objects, locations);
        index = Promise.resolve(built);
        resolve(built);
      },
      error: (error) => {
        index = null;
        reject(error);
      },
    });
  }));
}
