/** Parts of a screen that are loaded when they are first opened, so that the screen opens sooner. */

import { html, useEffect, useState } from "../vendor/ui.js";

/** @import { ComponentType } from "../vendor/ui.js" */

/** By then the screen is up; a part is there before a finger can ask for it. */
const FETCH_AHEAD_AFTER_MS = 2000;

/**
 * A stand-in that draws nothing until the part is loaded, and is the part from then on.
 *
 * @param {() => Promise<ComponentType<any>>} load
 * @returns {ComponentType<any>}
 */
export function lazy(load) {
  /** @type {ComponentType<any> | null} */
  let Part = null;
  const fetched = () => load().then((loaded) => (Part = loaded));
  setTimeout(fetched, FETCH_AHEAD_AFTER_MS);
  return function Lazy(/** @type {object} */ props) {
    const [, redraw] = useState(false);
    useEffect(() => {
      if (!Part) fetched().then(() => redraw(true));
    }, []);
    return Part && html`<${Part} ...${props} />`;
  };
}
