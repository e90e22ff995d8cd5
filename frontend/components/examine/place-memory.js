/** Remembers field, caret and scroll while the form is open, and returns there. */

import { lastPlace, rememberPlace } from "../../store/place.js";
import { term } from "../../store/vocabulary.js";
import { useEffect } from "../../vendor/ui.js";

/** @import { Held } from "./held.js" */

/** How long a field may take to appear before the form gives up looking for it. */
const LONGEST_WAIT_MS = 3000;
const TYPED_IN = "input, textarea, select";

/**
 * @param {Held} held
 * @param {boolean} ready  the form is drawn
 */
export function usePlaceMemory(held, ready) {
  const route = `/examine/${held.id}`;
  useEffect(() => {
    if (!ready) return undefined;
    let watching = false;
    const watch = new AbortController();
    const remember = () => watching && rememberPlace(placeNow(route));
    // The focus is the last to move, so look after it has.
    const later = () => setTimeout(remember);
    document.addEventListener("focusin", later, { signal: watch.signal });
    document.addEventListener("selectionchange", remember, { signal: watch.signal });
    document.addEventListener("input", remember, { signal: watch.signal });
    window.addEventListener("scroll", remember, { signal: watch.signal, passive: true });

    returnTo(held, route, watch.signal).then(() => {
      watching = !watch.signal.aborted;
      remember();
    });
    return () => watch.abort();
  }, [held, ready]);
}

/** @param {string} route @returns {import("../../store/types.js").Place} */
function placeNow(route) {
  const element = document.activeElement;
  const field = element instanceof HTMLElement || element instanceof SVGElement
    ? (element.dataset.field ?? null)
    : null;
  return { route, field, caret: caretOf(element), scroll: Math.round(window.scrollY) };
}

function caretOf(/** @type {Element | null} */ element) {
  if (!(element instanceof HTMLInputElement || element instanceof HTMLTextAreaElement)) return null;
  // Null for inputs that have no caret, such as a tick box.
  return element.selectionStart;
}

/** @param {Held} held @param {string} route @param {AbortSignal} given_up */
async function returnTo(held, route, given_up) {
  const before = document.activeElement;
  const place = await lastPlace();
  if (!place || place.route !== route || given_up.aborted) return;
  const field = place.field && openTowards(held, place.field);
  const element = field && (await appearing(field, given_up));
  // Whoever types elsewhere by now is not moved away; a screen that takes the focus itself is.
  if (document.activeElement !== before && document.activeElement?.matches(TYPED_IN)) return;
  if (!element) {
    window.scrollTo(0, place.scroll);
    return;
  }
  window.scrollTo(0, place.scroll);
  element.focus({ preventScroll: true });
  if (place.caret !== null && "setSelectionRange" in element) {
    /** @type {HTMLInputElement} */ (element).setSelectionRange(place.caret, place.caret);
  }
  const { top, bottom } = element.getBoundingClientRect();
  if (top < 0 || bottom > window.innerHeight) element.scrollIntoView({ block: "center" });
}

/**
 * Opens what a field stands in; never a dialog, the camera or a file picker.
 *
 * @param {Held} held
 * @param {string} field
 * @returns {string} the field to put the focus on
 */
function openTowards(held, field) {
  const { view } = held;
  const [kind, first] = field.split(":");
  if (kind === "observation" || kind === "measurement") view.observation.value = `seen/${first}`;
  if (kind === "term") view.group.value = term(first)?.group ?? null;
  if (kind === "take" || kind === "choose" || kind === "live") view.light.value = first;
  if (kind === "azimuth") view.light.value = "raking";
  return field;
}

/** @param {string} field @param {AbortSignal} given_up @returns {Promise<HTMLElement | null>} */
async function appearing(field, given_up) {
  const until = Date.now() + LONGEST_WAIT_MS;
  while (Date.now() < until && !given_up.aborted) {
    const element = document.querySelector(`[data-field="${CSS.escape(field)}"]`);
    if (element) return /** @type {HTMLElement} */ (element);
    await new Promise((resolve) => setTimeout(resolve, 30));
  }
  return null;
}
