/** The address of a content: its SHA-256, as 64 hexadecimal digits. */

/** @param {ArrayBuffer} bytes @returns {Promise<string>} */
export async function hash(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Of a text's bytes in UTF-8. @param {string} text */
export function hashOfText(text) {
  return hash(new TextEncoder().encode(text).buffer);
}
