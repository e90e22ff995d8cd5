/** Two ways to look at the bytes of a file, shared by the readers of its formats. */

/** @param {Uint8Array} bytes */
export function viewOf(bytes) {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** Some bytes as Latin letters. @param {Uint8Array} bytes @param {number} at @param {number} [length] */
export function letters(bytes, at, length = 4) {
  return String.fromCharCode(...bytes.subarray(at, at + length));
}
