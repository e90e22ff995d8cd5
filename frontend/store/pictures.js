/** Pictures to look at: from this tablet when it has them, else from the server. */

import { db } from "./database.js";
import { headersFor } from "./server.js";
import { session } from "./session.js";

/**
 * Brings a thumbnail that this tablet does not carry, and keeps it. Does nothing without a
 * network or a sign-in; a screen that watches the table sees it arrive.
 *
 * @param {string} sha256
 */
export async function fetchThumbnail(sha256) {
  const blob = await fromServer(sha256, "thumbnail");
  if (blob) await db.thumbnails.put({ sha256, blob });
}

/**
 * The largest picture at hand: the original, else the preview that is carried or the server has,
 * else the thumbnail.
 *
 * @param {string} sha256
 * @returns {Promise<Blob | null>}
 */
export async function largestPicture(sha256) {
  const original = await db.originals.get(sha256);
  if (original?.blob) return original.blob;
  const preview = (await db.previews.get(sha256))?.blob ?? (await fromServer(sha256, "preview"));
  return preview ?? (await db.thumbnails.get(sha256))?.blob ?? null;
}

/** @param {string} sha256 @param {"thumbnail" | "preview"} size @returns {Promise<Blob | null>} */
async function fromServer(sha256, size) {
  if (!navigator.onLine || !session.value) return null;
  try {
    const answer = await fetch(`/api/photographs/${sha256}/${size}`, {
      headers: headersFor(session.value.token),
    });
    return answer.ok ? await answer.blob() : null;
  } catch {
    return null;
  }
}
