/** Parts of a screen that are loaded when they are first opened, so that the screen opens sooner. */

import { html, useEffect, useState } from "../vendor/ui.js";

/** @import { ComponentType } from "../vendor/ui.js" */

/** By then the screen is up; a part is there before a finger can ask for it. */
const FETCH_AHEAD_AFTER_MS = 2000;

/** A part that could not be had is asked for again after this long, while its place is shown. */
const FETCH_AGAIN_AFTER_MS = 2000;

/**
 * A stand-in that draws nothing until the part is loaded, and is the part from then on. Should
 * the part not be had, because the app is not wholly on the tablet yet and the network went, it
 * says so and goes on asking.
 *
 * @param {() => Promise<ComponentType<any>>} load
 * @returns {ComponentType<any>}
 */
export function lazy(load) {
  /** @type {ComponentType<any> | null} */
  let Part = null;
  const fetched = async () => {
    Part ??= await load();
  };
  setTimeout(() => fetched().catch((error) => console.error(error)), FETCH_AHEAD_AFTER_MS);
  return function Lazy(/** @type {object} */ props) {
    const [state, setState] = useState(Part ? "here" : "coming");
    useEffect(() => {
      /** @type {ReturnType<typeof setTimeout> | undefined} */
      let timer;
      const attempt = () =>
        fetched().then(
          () => setState("here"),
          () => {
            setState("missing");
            timer = setTimeout(attempt, FETCH_AGAIN_AFTER_MS);
          },
        );
      // Also when it came in the meantime: what is on the screen was drawn without it.
      if (state !== "here") attempt();
      return () => clearTimeout(timer);
    }, []);
    if (Part) return html`<${Part} ...${props} />`;
    if (state !== "missing") return null;
    return html`<p class="soft" role="status">
      This part of Fieldleaf is not on the device yet. It comes by itself once there is a network.
    </p>`;
  };
}
