/** Searching in a few hundred texts at hand; for the catalogue itself see search.js. */

/**
 * Says of a text whether it has every word of the search, capitals or not.
 *
 * @param {string} search
 * @returns {(text: string) => boolean}
 */
export function wantedBy(search) {
  const words = search.trim().toLowerCase().split(/\s+/).filter(Boolean);
  return (text) => {
    const plain = text.toLowerCase();
    return words.every((word) => plain.includes(word));
  };
}
