/** The tree of places carried on this tablet, held in memory for paths and steps. */

import { useMemo } from "../vendor/ui.js";
import { db } from "./database.js";
import { useLive } from "./live.js";

/** @typedef {import("./types.js").LocationRow} LocationRow */

/**
 * @typedef {object} Places
 * @property {LocationRow[]} all
 * @property {(id: string | null | undefined) => LocationRow | undefined} get
 * @property {(parent: string | null) => LocationRow[]} under  children in the order of the walk
 * @property {(id: string | null | undefined) => LocationRow[]} path  from the site down to the place
 * @property {(id: string | null | undefined) => string} words  "Stores › Room 2 › Shelf 4"
 */

/** @param {LocationRow[]} rows @returns {Places} */
export function placesOf(rows) {
  const byId = new Map(rows.map((row) => [row.id, row]));
  /** Sorted only when somebody walks the tree: most screens just name a place. */
  const walk = once(() => {
    /** @type {Map<string | null, LocationRow[]>} */
    const children = new Map();
    const inOrder = [...rows].sort(
      (a, b) => a.order - b.order || a.name.localeCompare(b.name, "en-GB", { numeric: true }),
    );
    for (const row of inOrder) {
      // A place whose parent is not carried stands at the top, so that it can still be reached.
      const parent = row.parent && byId.has(row.parent) ? row.parent : null;
      children.set(parent, [...(children.get(parent) ?? []), row]);
    }
    return { inOrder, children };
  });

  const path = (/** @type {string | null | undefined} */ id) => {
    /** @type {LocationRow[]} */
    const steps = [];
    let row = id ? byId.get(id) : undefined;
    while (row && !steps.includes(row)) {
      steps.unshift(row);
      row = row.parent ? byId.get(row.parent) : undefined;
    }
    return steps;
  };

  return {
    get all() {
      return walk().inOrder;
    },
    get: (id) => (id ? byId.get(id) : undefined),
    under: (parent) => walk().children.get(parent) ?? [],
    path,
    words: (id) =>
      path(id)
        .map((step) => step.name)
        .join(" › "),
  };
}

/** @template T @param {() => T} work @returns {() => T}  works it out when first asked */
function once(work) {
  /** @type {{result: T} | undefined} */
  let done;
  return () => (done ??= { result: work() }).result;
}

/** The tree as it is now; follows every change. */
export function usePlaces() {
  const rows = useLive(() => db.locations.toArray(), [], /** @type {LocationRow[]} */ ([]));
  return useMemo(() => placesOf(rows), [rows]);
}
