/** Identifiers made on the tablet: UUIDv7 (RFC 9562, section 5.7), so that ids sort by time. */

let lastMs = 0;
let inThisMs = 0;

/**
 * A fresh id. Two made in the same millisecond sort in the order they were made: the 12 bits
 * after the version count up from a random start (RFC 9562, section 6.2, method 1).
 *
 * @param {number} [now]  milliseconds since 1970
 * @returns {string}
 */
export function newId(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  if (now > lastMs) {
    lastMs = now;
    // The top bit starts at 0, which leaves room to count.
    inThisMs = ((bytes[6] << 8) | bytes[7]) & 0x7ff;
  } else if (inThisMs < 0xfff) {
    inThisMs += 1;
  } else {
    lastMs += 1;
    inThisMs = 0;
  }
  const view = new DataView(bytes.buffer);
  view.setUint16(0, Math.floor(lastMs / 2 ** 32));
  view.setUint32(2, lastMs % 2 ** 32);
  view.setUint16(6, 0x7000 | inThisMs);
  view.setUint8(8, 0x80 | (bytes[8] & 0x3f));
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
