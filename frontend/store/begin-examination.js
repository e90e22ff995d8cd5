/** Begins the examination of an object on a visit, where the object stands. */

import { db } from "./database.js";
import { newId } from "./ids.js";
import { signedIn } from "./outbox.js";
import { createTogether } from "./write.js";

/** @import { ExaminationRow, ObjectRow } from "./types.js" */

/**
 * @param {string} visit
 * @param {ObjectRow} object
 * @returns {Promise<string>}  its key; that of the person's own that is begun already on this
 *   visit, if there is one, so that a second tap makes no second examination
 * @throws {import("./durable.js").StorageFull | Error} with a sentence for the person
 */
export async function beginExamination(visit, object) {
  let id = newId();
  await createTogether(async () => {
    const me = signedIn().person.id;
    const begun = (await db.examinations.where("object").equals(object.id).toArray()).find(
      (row) => row.visit === visit && isUnfinishedOf(row, me),
    );
    if (begun) {
      id = begun.id;
      return [];
    }
    const fields = {
      visit,
      object: object.id,
      started_at: new Date().toISOString(),
      location: object.location,
      place: object.off_site_place,
    };
    return [{ entity: "examination", id, fields }];
  });
  return id;
}

/**
 * Whether the examination waits for this person to finish it.
 *
 * @param {ExaminationRow} examination
 * @param {string | undefined} person
 */
export function isUnfinishedOf({ signed_at, examiner }, person) {
  return !signed_at && (!examiner || examiner === person);
}
