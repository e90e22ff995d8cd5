/** Tells an answer that was altered on the way from one that came as the server sent it. */

const HEADER = "Content-Digest";

/**
 * The header that goes with bytes, by RFC 9530. Empty where the browser cannot hash: it can
 * wherever it can keep the app for use without a network.
 *
 * @param {BufferSource} bytes
 * @returns {Promise<Record<string, string>>}
 */
export async function digestHeader(bytes) {
  if (!globalThis.crypto?.subtle) return {};
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return { [HEADER]: `sha-256=:${btoa(String.fromCharCode(...digest))}:` };
}

/**
 * @param {Headers} headers  of the answer
 * @param {ArrayBuffer} bytes  its content
 * @returns {Promise<boolean>}  false only when the answer is surely another than was sent
 */
export async function isAsSent(headers, bytes) {
  const told = headers.get(HEADER)?.match(/sha-256=:[^:]*:/)?.[0];
  // What a proxy compressed is other bytes than the server's, and has a checksum of its own.
  if (!told || headers.has("Content-Encoding")) return true;
  const { [HEADER]: found = told } = await digestHeader(bytes);
  return found === told;
}
