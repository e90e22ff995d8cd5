/** Shows what the database holds, and keeps showing it as it changes. */

import { liveQuery } from "../vendor/dexie.js";
import { useEffect, useState } from "../vendor/ui.js";

/**
 * The latest answer of a query, asked again whenever rows it read have changed, here or in
 * another tab. After a change of `deps` the former answer stays until the new one is there.
 *
 * @template T
 * @param {() => Promise<T> | T} query  reads the database and nothing else that changes
 * @param {unknown[]} deps  values the query uses
 * @param {T} initial  shown until the first answer
 * @returns {T}
 */
export function useLive(query, deps, initial) {
  const [answer, setAnswer] = useState(initial);
  const [failure, setFailure] = useState(/** @type {unknown} */ (null));
  useEffect(() => {
    const watch = liveQuery(query).subscribe({
      next: (/** @type {T} */ value) => setAnswer(() => value),
      error: (/** @type {unknown} */ error) => setFailure(() => error),
    });
    return () => watch.unsubscribe();
  }, deps);
  if (failure) throw failure;
  return answer;
}
