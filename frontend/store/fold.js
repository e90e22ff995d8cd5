/** Puts text into the form in which it is searched: no accents, no capitals, words only. */

/** Letters whose stroke or ligature is no separate accent to Unicode, and how they are typed. */
const PLAIN = new Map(Object.entries({ ß: "ss", æ: "ae", œ: "oe", ø: "o", đ: "d", ł: "l", ı: "i" }));

/**
 * @param {string} text
 * @returns {string[]}  words of letters and digits, for example "1923.4 Étude" → 1923, 4, etude
 */
export function fold(text) {
  const plain = text
    .normalize("NFD")
    .replace(/\p{Mark}/gu, "")
    .toLowerCase()
    .replace(/[ßæœøđłı]/g, (letter) => PLAIN.get(letter) ?? letter);
  return plain.match(/[\p{Letter}\p{Number}]+/gu) ?? [];
}
