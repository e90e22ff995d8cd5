/**
 * Puts all unsent work into one file that the server can take in by hand: a BagIt bag (RFC 8493)
 * in a ZIP without compression. Needs neither a network nor a sign-in.
 *
 * data/work.json            the changes in their order, all people's, also refused ones
 * data/photographs/<sha256> the photographs whose files are not with the server, as shot
 */

import { hashOfText } from "../imaging/hash.js";
import { db } from "../store/database.js";
import { session } from "../store/session.js";
import { filesToSend } from "../store/space.js";
import { versionCarried } from "../store/updates.js";

/** @import { Change } from "../store/types.js" */

const FORMAT = "fieldleaf-unsent-work";
const FORMAT_VERSION = 1;

/**
 * @typedef {{
 *   sha256: string,
 *   size_bytes: number,
 *   content_type: string,
 *   file_name: string,
 *   records: string[],
 * }} Listed  records: ids of the photograph records that show this file
 *
 * unreadable  photographs whose file the tablet could not read any more, by their SHA-256
 * @typedef {{file: File, changes: number, photographs: number, unreadable: string[]}} Made
 */

/**
 * How much there is to put in, in changes, photographs and bytes.
 *
 * @returns {Promise<{changes: number, photographs: number, bytes: number}>}
 */
export async function countUnsent() {
  const [changes, files] = await Promise.all([db.outbox.count(), filesToSend()]);
  const bytes = files.reduce((sum, file) => sum + file.size_bytes, 0);
  return { changes, photographs: files.length, bytes };
}

/**
 * The originals are not read into memory: they go through it piece by piece.
 *
 * @returns {Promise<Made>}
 * @throws {Error} when the browser cannot put such a file together, for lack of room
 */
export async function makeUnsentFile() {
  const { makeZip } = await import("../vendor/zip.js");
  const now = new Date();
  const name = `fieldleaf-unsent-${now.toISOString().slice(0, 19).replaceAll(":", "")}Z`;
  const changes = await db.outbox.orderBy("order").toArray();
  const { listed, unreadable } = await listPhotographs();
  const work = JSON.stringify(
    {
      format: FORMAT,
      version: FORMAT_VERSION,
      made_at: now.toISOString(),
      devices: devicesOf(changes),
      people: peopleOf(changes),
      changes,
      photographs: listed,
      reports: { app_version: await versionCarried(), user_agent: navigator.userAgent },
    },
    null,
    1,
  );
  const small = await smallFiles(work, listed, now);
  const stream = makeZip(partsOf(name, small, listed));
  const blob = await new Response(stream, { headers: { "Content-Type": "application/zip" } }).blob();
  const file = new File([blob], `${name}.zip`, { type: "application/zip" });
  return { file, changes: changes.length, photographs: listed.length, unreadable };
}

/** @returns {Promise<{listed: Listed[], unreadable: string[]}>} */
async function listPhotographs() {
  const listed = [];
  const unreadable = [];
  for (const { sha256 } of await filesToSend()) {
    const original = await db.originals.get(sha256);
    if (!original?.blob || !(await canBeRead(original.blob))) {
      unreadable.push(sha256);
      continue;
    }
    const { content_type, file_name, size_bytes } = original;
    const records = await db.photographs.where({ sha256 }).primaryKeys();
    listed.push({ sha256, size_bytes, content_type, file_name, records });
  }
  return { listed, unreadable };
}

/** A damaged file must not keep all others from being saved. @param {Blob} blob */
async function canBeRead(blob) {
  const ends = [blob.slice(0, 1), blob.slice(-1)];
  return Promise.all(ends.map((end) => end.arrayBuffer())).then(
    () => true,
    () => false,
  );
}

/** @param {Change[]} changes  each ends its clock reading with the device that made it */
function devicesOf(changes) {
  const made = changes.map(({ person, at }) => [person, at.replace(/^\d{13}-[0-9a-f]{4}-/, "")]);
  const now = session.value ? [[session.value.person.id, session.value.device_id]] : [];
  return Object.fromEntries([...made, ...now]);
}

/** @param {Change[]} changes */
function peopleOf(changes) {
  const made = changes.map(({ person, person_name }) => [person, person_name]);
  const now = session.value ? [[session.value.person.id, session.value.person.name]] : [];
  return Object.fromEntries([...made, ...now]);
}

/**
 * The bag's own files and the work, by path, in the order of the bag.
 *
 * @param {string} work
 * @param {Listed[]} listed
 * @param {Date} now
 * @returns {Promise<[string, string][]>}
 */
async function smallFiles(work, listed, now) {
  const bytes = new TextEncoder().encode(work).length;
  const octets = listed.reduce((sum, { size_bytes }) => sum + size_bytes, bytes);
  const manifest = [
    [await hashOfText(work), "data/work.json"],
    ...listed.map(({ sha256 }) => [sha256, `data/photographs/${sha256}`]),
  ];
  /** @type {[string, string][]} */
  const tags = [
    ["bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"],
    [
      "bag-info.txt",
      `Bag-Software-Agent: Fieldleaf\nBagging-Date: ${now.toISOString().slice(0, 10)}\n` +
        "External-Description: Work recorded on a tablet and not sent to the server yet\n" +
        `Payload-Oxum: ${octets}.${listed.length + 1}\n`,
    ],
    ["manifest-sha256.txt", linesOf(manifest)],
  ];
  const sums = await Promise.all(tags.map(async ([path, text]) => [await hashOfText(text), path]));
  return [...tags, ["tagmanifest-sha256.txt", linesOf(sums)], ["data/work.json", work]];
}

/** @param {string[][]} sums */
function linesOf(sums) {
  return sums.map(([sum, path]) => `${sum}  ${path}\n`).join("");
}

/** @param {string} folder @param {[string, string][]} small @param {Listed[]} listed */
async function* partsOf(folder, small, listed) {
  for (const [path, text] of small) yield { name: `${folder}/${path}`, input: text };
  for (const { sha256 } of listed) {
    const input = (await db.originals.get(sha256))?.blob;
    if (!input) throw new Error("A photograph was removed meanwhile. Make the file once more.");
    yield { name: `${folder}/data/photographs/${sha256}`, input };
  }
}
