/** Style sheets of parts that are fetched when they are first opened. */

export const SHEET_VIEW = "/field/components/sheet-view/sheet-view.css";

/** @type {Map<string, Promise<void>>} */
const coming = new Map();

/** Resolves when they apply, or cannot be had: the part then shows plainly. */
export function styled(/** @type {string[]} */ ...addresses) {
  return Promise.all(addresses.map((address) => coming.get(address) ?? fetched(address)));
}

/** @param {string} address */
function fetched(address) {
  const link = document.createElement("link");
  link.rel = "stylesheet";
  link.href = address;
  /** @type {Promise<void>} */
  const applies = new Promise((resolve) => {
    link.onload = () => resolve();
    link.onerror = () => {
      link.remove();
      coming.delete(address);
      resolve();
    };
  });
  coming.set(address, applies);
  document.head.append(link);
  return applies;
}
