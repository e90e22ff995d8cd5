/**
 * Every change the person makes. A row and the change that will tell the server go into the
 * database in one transaction; a promise that resolves means that both are on the disk.
 */

import { beginning, wireFields } from "./beginnings.js";
import { db, tableOf } from "./database.js";
import { durably } from "./durable.js";
import { newId } from "./ids.js";
import { lineOf, putInLine } from "./outbox.js";

/** @import { Entity, Fields, Side } from "./types.js" */

export { StorageFull, saveTrouble } from "./durable.js";

/**
 * Makes a record.
 *
 * @param {Entity} entity
 * @param {Fields} fields  wire fields, and own ones that begin with `_`
 * @returns {Promise<string>} its id, once durable
 * @throws {StorageFull | Error} with a sentence for the person
 */
export async function create(entity, fields) {
  const id = newId();
  await durably(() => insert(entity, id, fields));
  return id;
}

/**
 * Makes several records at once: all of them are there in the end, or none is.
 *
 * @param {() => Promise<{entity: Entity, id: string, fields: Fields}[]>} list  reads what it needs
 *   within the same transaction; ids by newId(), a record after those that it names
 * @throws {StorageFull | Error} with a sentence for the person
 */
export async function createTogether(list) {
  await durably(async () => {
    for (const { entity, id, fields } of await list()) await insert(entity, id, fields);
  });
}

/**
 * Sets fields of a record.
 *
 * @param {Entity} entity
 * @param {string} id
 * @param {Fields} fields  only those touched
 * @throws {StorageFull | Error} with a sentence for the person
 */
export async function save(entity, id, fields) {
  await durably(async () => {
    const row = await tableOf(entity).get(id);
    if (!row) throw new Error("This record is no longer on the device. Go back and open it again.");
    const sent = wireFields(fields);
    if (Object.keys(sent).length) {
      if (entity === "signature") throw new Error("A signature stays as it was given.");
      await Promise.all([
        refuseIfSigned(entity, /** @type {any} */ (row)),
        putInLine({ entity, entity_id: id, fields: sent, base: row.revision }),
      ]);
    }
    await tableOf(entity).put({ ...row, ...fields });
  });
}

/**
 * Notes what the check of a shot found. It comes by itself after the shot: a photograph that was
 * removed in the meantime, or whose examination was signed, stays as it is.
 *
 * @param {string} id  of the photograph
 * @param {import("./types.js").ShotCheck} shot_check
 * @throws {StorageFull | Error}
 */
export async function noteShotCheck(id, shot_check) {
  await durably(async () => {
    const row = await db.photographs.get(id);
    const examination = row && (await db.examinations.get(row.examination));
    if (!row || examination?.signed_at) return;
    await putInLine({ entity: "photograph", entity_id: id, fields: { shot_check }, base: row.revision });
    await db.photographs.put({ ...row, shot_check });
  });
}

/**
 * Deletes a record. One that never left the tablet leaves no trace.
 *
 * @param {Entity} entity
 * @param {string} id
 * @throws {StorageFull | Error} with a sentence for the person
 */
export async function remove(entity, id) {
  await durably(async () => {
    const row = await tableOf(entity).get(id);
    if (!row) return;
    if (entity === "signature") throw new Error("A signature stays as it was given.");
    await refuseIfSigned(entity, /** @type {any} */ (row));
    const line = await lineOf(id);
    const isKnownHereOnly = line.some(
      (change) => change.creates && (!change.tried || change.state === "refused"),
    );
    if (isKnownHereOnly) await db.outbox.where({ entity_id: id }).delete();
    else await putInLine({ entity, entity_id: id, fields: { deleted: true }, base: row.revision });
    await tableOf(entity).delete(id);
    if ("sha256" in row) await dropUnusedFile(row.sha256);
  });
}

/**
 * Keeps a photograph exactly as it was shot, and makes its record and thumbnail.
 *
 * @param {{
 *   examination: string,
 *   light: string,
 *   azimuth_deg?: number | null,
 *   side: Side,
 *   file: Blob & {name?: string},
 *   taken_at?: string,
 * }} shot  azimuth in degrees clockwise from the sheet's top edge, for raking light
 * @returns {Promise<{id: string, warnings: string[]}>}
 * @throws {StorageFull | Error} with a sentence, for example when the file is not an image
 */
export async function addPhotograph({ examination, light, azimuth_deg = null, side, file, taken_at }) {
  const bytes = await file.arrayBuffer().catch(() => {
    throw new Error("This file could not be read. Choose it again, or take the photograph again.");
  });
  // Loaded only when there is a photograph.
  const [{ hash }, { inspect }, { thumbnail }] = await Promise.all([
    import("../imaging/hash.js"),
    import("../imaging/inspect.js"),
    import("../imaging/thumbnail.js"),
  ]);
  const name = file.name ?? "";
  const found = inspect(new Uint8Array(bytes), name);
  const sha256 = await hash(bytes);
  // From the bytes that were hashed, so that nothing can change them in between.
  const blob = new Blob([bytes], { type: found.content_type });
  const small = found.makesThumbnail ? await thumbnail(blob) : null;
  const warnings = [...found.warnings];
  if (found.makesThumbnail && !small) {
    warnings.push(
      "This device cannot show this file, so it has no thumbnail. It is kept and will be sent.",
    );
  }
  const id = newId();
  await durably(async () => {
    const [kept, upload] = await Promise.all([db.originals.get(sha256), db.uploads.get(sha256)]);
    if (!upload?.sent && !kept?.blob) {
      const { content_type } = found;
      const size_bytes = blob.size;
      await Promise.all([
        db.originals.put({ sha256, blob, size_bytes, content_type, file_name: name }),
        db.uploads.put({ sha256, size_bytes, sent: 0, bytes_sent: 0, trouble: "", url: null }),
      ]);
    }
    if (small) await db.thumbnails.put({ sha256, blob: small });
    await insert("photograph", id, {
      examination,
      light,
      azimuth_deg,
      side,
      sha256,
      size_bytes: blob.size,
      content_type: found.content_type,
      file_name: name.slice(0, MOST_LETTERS_IN_NAME),
      width_px: found.width_px,
      height_px: found.height_px,
      trouble: found.trouble,
      ...(taken_at ? { taken_at } : {}),
    });
  });
  return { id, warnings };
}

/** As many as the server keeps of a file's name. */
const MOST_LETTERS_IN_NAME = 200;

/** @param {Entity} entity @param {string} id @param {Fields} fields */
async function insert(entity, id, fields) {
  const { shown, sent } = beginning(entity, fields);
  // Side by side, since a finger waits for the slowest: a refusal undoes all of it.
  await Promise.all([
    refuseIfSigned(entity, /** @type {any} */ (shown)),
    putInLine({ entity, entity_id: id, fields: sent, base: 0, creates: true }),
    tableOf(entity).put(/** @type {any} */ ({ id, revision: 0, ...shown })),
    entity === "move" && showMove(shown),
  ]);
}

/** The server moves the object when it takes the move; here it is shown at once. @param {Fields} move */
async function showMove(move) {
  await db.objects.update(/** @type {string} */ (move.object), {
    location: /** @type {string | null} */ (move.to_location),
    off_site_place: /** @type {string} */ (move.to_place),
  });
}

/** @param {Entity} entity @param {any} row */
async function refuseIfSigned(entity, row) {
  if (entity === "amendment") return;
  if (entity === "loan_check" || entity === "point_check") return refuseIfCheckIsSigned(entity, row);
  const of = entity === "examination" ? row : row.examination && (await db.examinations.get(row.examination));
  if (of && of.signed_at) {
    throw new Error("This examination is signed, so it stays as it is. Add an amendment instead.");
  }
}

/** @param {"loan_check" | "point_check"} entity @param {any} row */
async function refuseIfCheckIsSigned(entity, row) {
  const of = entity === "loan_check" ? row : await db.loan_checks.get(row.loan_check);
  if (of?.statement) {
    throw new Error("This check is signed, so it stays as it is. What is found later is an amendment.");
  }
}

/**
 * Drops the file of a photograph that no record names any more.
 *
 * @param {string} sha256
 */
export async function dropUnusedFile(sha256) {
  if (await db.photographs.where({ sha256 }).count()) return;
  await db.originals.delete(sha256);
  await db.uploads.delete(sha256);
  await db.thumbnails.delete(sha256);
}
