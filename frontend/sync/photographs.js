/**
 * Sends the photographs' files by the tus protocol (version 1.0): in pieces, each with its own
 * checksum, going on after an interruption where the server stands, several files at a time.
 */

import { db } from "../store/database.js";
import { ask, headersFor, ServerTrouble, troubleOf } from "../store/server.js";
import { filesToSend } from "../store/space.js";

/** @import { DetailedError, HttpRequest } from "../vendor/tus.js" */
/** @import { Original, Sending } from "../store/types.js" */

/** A browser opens six connections to one HTTP/1.1 server: records and pictures keep three. */
const AT_ONCE = 3;
const ASKED_AT_ONCE = 200;
const RETRY_AFTER_MS = [1000, 3000];
/** Not this file's fault: its upload is gone, stands elsewhere, or a piece was damaged. */
const GONE = [404, 410];
const SEND_AGAIN = [...GONE, 409, 460];
/** An upload of which nothing moves for so long is broken off and gone on with later. */
const PATIENCE_MS = 60_000;

const LARGEST_PIECE_BYTES = 1024 * 1024;
const SMALLEST_PIECE_BYTES = 32 * 1024;
/** A piece counts whole or not at all, so a network that breaks off often gets smaller ones. */
let pieceBytes = LARGEST_PIECE_BYTES;

/**
 * @typedef {{
 *   stop?: AbortSignal,
 *   onSent?: (files: number) => void,
 * }} Options  stop: photographs are held from now on; onSent: so many more are with the server
 */

/**
 * @param {string} token
 * @param {Options} [options]
 * @throws {ServerTrouble} when sending must wait; what is not verified is sent again
 */
export async function sendPhotographs(token, { stop = NEVER, onSent = () => {} } = {}) {
  const files = (await filesToSend()).map((file) => file.sha256);
  for (let at = 0; at < files.length; at += ASKED_AT_ONCE) {
    onSent(await markStored(token, files.slice(at, at + ASKED_AT_ONCE)));
  }
  const begun = new Set();
  let hasFailed = false;
  // Asked anew each time: photographs taken while others are sent go as well.
  const next = async () => {
    const file = (await filesToSend()).find(({ sha256 }) => !begun.has(sha256));
    if (file) begun.add(file.sha256);
    return file;
  };
  const work = async () => {
    for (let file = await next(); file && !hasFailed && !stop.aborted; file = await next()) {
      try {
        onSent(await send(token, file.sha256, stop));
      } catch (trouble) {
        hasFailed = true;
        throw trouble;
      }
    }
  };
  const ended = await Promise.allSettled(Array.from({ length: AT_ONCE }, work));
  const failed = ended.find((each) => each.status === "rejected");
  if (failed && !stop.aborted) throw failed.reason;
}

const NEVER = new AbortController().signal;

/** Lets files that the server refused try again. */
export async function retryPhotographs() {
  await db.uploads.where("trouble").above("").modify({ trouble: "" });
}

/**
 * Asks which contents the server holds and has verified, and notes those as sent.
 *
 * @param {string} token
 * @param {string[]} contents  their SHA-256
 * @returns {Promise<number>}  how many were noted
 */
async function markStored(token, contents) {
  const { body } = await ask("/api/sync/stored", {
    method: "POST",
    token,
    body: { sha256: contents },
  });
  return db.uploads
    .where("sha256")
    .anyOf(body.stored)
    .modify((upload) => {
      Object.assign(upload, { sent: 1, bytes_sent: upload.size_bytes, trouble: "", url: null });
    });
}

/**
 * @param {string} token
 * @param {string} sha256
 * @param {AbortSignal} stop
 * @returns {Promise<number>}  1 when the server now has it, 0 when it was not to be sent
 */
async function send(token, sha256, stop) {
  const [original, sending] = await Promise.all([db.originals.get(sha256), db.uploads.get(sha256)]);
  if (!original?.blob || !sending || sending.sent || sending.trouble) return 0;
  try {
    await upload(token, original, sending.url, original.blob, stop);
    const noted = await markStored(token, [sha256]);
    const after = await db.uploads.get(sha256);
    if (after && !after.sent) {
      throw new UploadGone(
        "A photograph reached the server damaged. It is whole on this device and is sent again.",
      );
    }
    return noted;
  } catch (trouble) {
    if (trouble instanceof UploadGone) await db.uploads.update(sha256, BEGIN_ANEW);
    const isNotTaken =
      trouble instanceof ServerTrouble &&
      (trouble.kind === "refused" || trouble.kind === "too-large");
    if (!isNotTaken) throw trouble;
    // Only this file is at fault: it stays here and is shown, and the others go on.
    await db.uploads.update(sha256, { trouble: trouble.message, ...BEGIN_ANEW });
    return 0;
  }
}

/** @type {Partial<Sending>} */
const BEGIN_ANEW = { url: null, bytes_sent: 0 };

/** There is nothing on the server to go on with: the next attempt begins the upload anew. */
class UploadGone extends ServerTrouble {
  /** @param {string} sentence */
  constructor(sentence) {
    super("server", sentence);
  }
}

/**
 * @param {string} token
 * @param {Original} original
 * @param {string | null} url  of an upload under way
 * @param {Blob} blob
 * @param {AbortSignal} stop
 * @returns {Promise<void>}
 */
async function upload(token, { sha256, file_name, content_type }, url, blob, stop) {
  // Loaded only when there is something to send.
  const { Upload } = await import("../vendor/tus.js");
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let patience;
  /** @type {Promise<void>} */
  const sent = new Promise((resolve, reject) => {
    const breakOff = (/** @type {unknown} */ reason) => {
      sending.abort();
      reject(reason);
    };
    const moves = () => {
      clearTimeout(patience);
      patience = setTimeout(() => breakOff(brokenOff()), PATIENCE_MS);
    };
    let size = pieceBytes;
    const resize = (/** @type {number} */ bytes) => {
      pieceBytes = size = sending.options.chunkSize = bytes;
    };
    const sending = new Upload(blob, {
      endpoint: "/api/uploads/",
      uploadUrl: url,
      chunkSize: size,
      retryDelays: RETRY_AFTER_MS,
      metadata: { sha256, filename: file_name || sha256, filetype: content_type },
      headers: headersFor(token),
      // The address is kept with the file's state, in the database.
      storeFingerprintForResuming: false,
      onUploadUrlAvailable: () => {
        const isNew = sending.url !== url;
        db.uploads.update(sha256, { url: sending.url, ...(isNew && { bytes_sent: 0 }) }).catch(reject);
      },
      onBeforeRequest: (request) => {
        moves();
        return addChecksum(request, blob, size);
      },
      onProgress: moves,
      onChunkComplete: (_, bytes_sent) => {
        resize(Math.min(size * 2, LARGEST_PIECE_BYTES));
        db.uploads.update(sha256, { bytes_sent }).catch(reject);
      },
      onShouldRetry: (error) => {
        resize(Math.max(size / 2, SMALLEST_PIECE_BYTES));
        const status = "originalResponse" in error ? error.originalResponse?.getStatus() : 0;
        return navigator.onLine && (!status || status >= 500 || SEND_AGAIN.includes(status));
      },
      onSuccess: () => resolve(),
      onError: (error) => reject(asTrouble(error)),
    });
    stop.addEventListener("abort", () => breakOff(stop.reason));
    moves();
    sending.start();
  });
  return sent.finally(() => clearTimeout(patience));
}

/**
 * Lets the server check each piece as it comes (tus 1.0, checksum extension): one that was
 * damaged on the way is sent again by itself, not the whole file.
 *
 * @param {HttpRequest} request
 * @param {Blob} blob
 * @param {number} bytes  most in one piece
 */
async function addChecksum(request, blob, bytes) {
  if (request.getMethod() !== "PATCH") return;
  const from = Number(request.getHeader("Upload-Offset"));
  const piece = await blob.slice(from, from + bytes).arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", piece));
  request.setHeader("Upload-Checksum", `sha256 ${btoa(String.fromCharCode(...digest))}`);
}

function brokenOff() {
  return new ServerTrouble("no-network", "The connection broke off while a photograph was sent.");
}

/** @param {Error | DetailedError} error */
function asTrouble(error) {
  const response = "originalResponse" in error ? error.originalResponse : null;
  if (!response) return brokenOff();
  const status = response.getStatus();
  if (SEND_AGAIN.includes(status)) {
    const sentence = "A photograph did not arrive whole. It is sent again.";
    return GONE.includes(status) ? new UploadGone(sentence) : new ServerTrouble("server", sentence);
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
