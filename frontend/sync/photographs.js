/**
 * Sends the photographs' files by the tus protocol (version 1.0): in pieces, going on after an
 * interruption where the server stands, two files at a time.
 */

import { db } from "../store/database.js";
import { ask, ServerTrouble, troubleOf } from "../store/server.js";
import { filesToSend } from "../store/space.js";

/** @import { DetailedError } from "../vendor/tus.js" */
/** @import { Original } from "../store/types.js" */

const PIECE_BYTES = 1024 * 1024;
const AT_ONCE = 2;
const ASKED_AT_ONCE = 200;
const RETRY_AFTER_MS = [1000, 3000];
/** Not this file's fault: its upload is gone, stands elsewhere, or a piece was damaged. */
const SEND_AGAIN = [404, 409, 410, 460];

/**
 * @param {string} token
 * @throws {ServerTrouble} when sending must wait; what is not verified is sent again
 */
export async function sendPhotographs(token) {
  const files = (await filesToSend()).map((file) => file.sha256);
  for (let at = 0; at < files.length; at += ASKED_AT_ONCE) {
    await markStored(token, files.slice(at, at + ASKED_AT_ONCE));
  }
  const queue = (await filesToSend()).map((file) => file.sha256);
  const work = async () => {
    for (let sha256 = queue.shift(); sha256; sha256 = queue.shift()) {
      await send(token, sha256).catch((trouble) => {
        queue.length = 0;
        throw trouble;
      });
    }
  };
  const ended = await Promise.allSettled(Array.from({ length: AT_ONCE }, work));
  const failed = ended.find((each) => each.status === "rejected");
  if (failed) throw failed.reason;
}

/** Lets files that the server refused try again. */
export async function retryPhotographs() {
  await db.originals.where("trouble").above("").modify({ trouble: "" });
}

/**
 * Asks which contents the server holds and has verified, and notes those as sent.
 *
 * @param {string} token
 * @param {string[]} contents  their SHA-256
 */
async function markStored(token, contents) {
  const { body } = await ask("/api/sync/stored", {
    method: "POST",
    token,
    body: { sha256: contents },
  });
  await db.originals
    .where("sha256")
    .anyOf(body.stored)
    .modify({ sent: 1, trouble: "", upload_url: null });
}

/** @param {string} token @param {string} sha256 */
async function send(token, sha256) {
  const original = await db.originals.get(sha256);
  if (!original?.blob || original.sent || original.trouble) return;
  try {
    await upload(token, original, original.blob);
    await markStored(token, [sha256]);
    if (!(await db.originals.get(sha256))?.sent) {
      await db.originals.update(sha256, { upload_url: null });
      throw new ServerTrouble(
        "server",
        "A photograph reached the server damaged. It is whole on this tablet and is sent again.",
      );
    }
  } catch (trouble) {
    const isNotTaken =
      trouble instanceof ServerTrouble &&
      (trouble.kind === "refused" || trouble.kind === "too-large");
    if (!isNotTaken) throw trouble;
    // Only this file is at fault: it stays here and is shown, and the others go on.
    await db.originals.update(sha256, { trouble: trouble.message, upload_url: null });
  }
}

/** @param {string} token @param {Original} original @param {Blob} blob @returns {Promise<void>} */
async function upload(token, { sha256, file_name, content_type, upload_url }, blob) {
  // Loaded only when there is something to send.
  const { Upload } = await import("../vendor/tus.js");
  return new Promise((resolve, reject) => {
    const sending = new Upload(blob, {
      endpoint: "/api/uploads/",
      uploadUrl: upload_url,
      chunkSize: PIECE_BYTES,
      retryDelays: RETRY_AFTER_MS,
      metadata: { sha256, filename: file_name || sha256, filetype: content_type },
      headers: { Authorization: `Device ${token}` },
      // The address is kept with the file itself, in the database.
      storeFingerprintForResuming: false,
      onUploadUrlAvailable: () => db.originals.update(sha256, { upload_url: sending.url }),
      onSuccess: () => resolve(),
      onError: (error) => reject(asTrouble(error)),
    });
    sending.start();
  });
}

/** @param {Error | DetailedError} error */
function asTrouble(error) {
  const response = "originalResponse" in error ? error.originalResponse : null;
  if (!response) {
    return new ServerTrouble("no-network", "The connection broke off while a photograph was sent.");
  }
  const status = response.getStatus();
  if (SEND_AGAIN.includes(status)) {
    return new ServerTrouble("server", "A photograph did not arrive whole. It is sent again.");
  }
  // An answer to an upload need not be JSON to be the server's own refusal.
  return troubleOf(status, jsonOf(response.getBody()) ?? (status >= 400 ? {} : undefined));
}

/** @param {string} text */
function jsonOf(text) {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
