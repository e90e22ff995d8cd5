/**
 * Fetches the pictures of the loans that are carried, so that they can be looked at where there
 * is no network, and lets go of those of other loans. What was fetched is kept at once, so a
 * connection that breaks off costs one picture.
 */

import { db, readSetting, writeSetting } from "../store/database.js";
import { isAsSent } from "../store/digest.js";
import { durably } from "../store/durable.js";
import { carriedLoans, missingOf, picturesOf } from "../store/loans/carried.js";
import { headersFor, ServerTrouble } from "../store/server.js";

/** A picture that does not come whole in so long is given up for now. */
const PATIENCE_MS = 60_000;

/** @type {Record<number, string>} by HTTP status */
const ABSENT = {
  404: "It has not reached the server yet: the tablet that took it has to send it.",
  422: "The server keeps it, but cannot make a picture of it for a screen.",
};

/**
 * @param {string} token
 * @throws {ServerTrouble | Error}  with a sentence; what is here by then stays
 */
export async function carryPictures(token) {
  const wanted = [];
  for (const loan of await carriedLoans()) wanted.push(...(await picturesOf(loan)));
  const contents = [...new Set(wanted)];
  await letGo(contents);
  /** @type {Record<string, string>} */
  const absent = {};
  for (const sha256 of await missingOf(contents)) {
    const preview = await fetched(token, sha256, "preview");
    if (typeof preview === "string") {
      absent[sha256] = preview;
      continue;
    }
    const isSmallHere = await db.thumbnails.get(sha256);
    const thumbnail = isSmallHere ? null : await fetched(token, sha256, "thumbnail");
    await durably(async () => {
      // The loan may have been let go in the meantime.
      if (!(await isWanted(sha256))) return;
      await db.previews.put({ sha256, blob: preview });
      if (thumbnail instanceof Blob) await db.thumbnails.put({ sha256, blob: thumbnail });
    });
  }
  const before = (await readSetting("absent_pictures")) ?? {};
  if (JSON.stringify(before) !== JSON.stringify(absent)) await writeSetting("absent_pictures", absent);
}

/** @param {string} sha256 */
async function isWanted(sha256) {
  return (await db.photographs.where({ sha256 }).count()) > 0;
}

/** Pictures of loans that are carried no longer. @param {string[]} contents  those that are wanted */
async function letGo(contents) {
  const wanted = new Set(contents);
  const others = (await db.previews.toCollection().primaryKeys()).filter((each) => !wanted.has(each));
  if (others.length) await durably(() => db.previews.bulkDelete(others));
}

/**
 * @param {string} token
 * @param {string} sha256
 * @param {"preview" | "thumbnail"} size
 * @returns {Promise<Blob | string>}  a picture, whole; or why there is none, in a sentence
 * @throws {ServerTrouble}
 */
async function fetched(token, sha256, size) {
  let answer;
  let bytes;
  try {
    answer = await fetch(`/api/photographs/${sha256}/${size}`, {
      headers: headersFor(token),
      credentials: "omit",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    bytes = await answer.arrayBuffer();
  } catch {
    throw new ServerTrouble("no-network", "The connection broke off while pictures were fetched.");
  }
  const isOurs = answer.headers.get("Content-Type")?.includes(answer.ok ? "image/jpeg" : "json");
  if (!isOurs || !(await isAsSent(answer.headers, bytes))) {
    throw new ServerTrouble(
      "foreign",
      "Something between here and the server answered in the place of a picture. Use another " +
        "network, and the pictures come by themselves.",
    );
  }
  if (answer.ok) return new Blob([bytes], { type: "image/jpeg" });
  if (answer.status in ABSENT) return ABSENT[answer.status];
  throw new ServerTrouble("server", `The server did not give a picture (${answer.status}).`);
}
