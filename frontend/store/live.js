/** Shows what the database holds, and keeps showing it as it changes. */

import { liveQuery } from "../vendor/dexie.js";
import { useEffect, useState } from "../vendor/ui.js";

const ASK_AGAIN_MS = 2000;

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
  useEffect(() => {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;
    let watch = { unsubscribe: () => {} };
    const begin = () => {
      watch = liveQuery(query).subscribe({
        next: (/** @type {T} */ value) => setAnswer(() => value),
        error: (/** @type {unknown} */ error) => {
          // What is shown stays, with all that is typed in it, until the database answers again.
          console.error(error);
          timer = setTimeout(begin, ASK_AGAIN_MS);
        },
      });
    };
    begin();
    return () => {
      clearTimeout(timer);
      watch.unsubscribe();
    };
  }, deps);
  return answer;
}
