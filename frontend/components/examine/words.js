/** Small turns of phrase that several sections of the form need. */

import { term } from "../../store/vocabulary.js";
import { named } from "../wording.js";

/** @import { ObservationRow, PhotographRow } from "../../store/types.js" */

/** "Old mould" → "old mould", for use inside a sentence; a name in capitals stays. */
export function lowerFirst(/** @type {string} */ text) {
  return /^.[A-Z]/.test(text) ? text : text.charAt(0).toLowerCase() + text.slice(1);
}

export function upperFirst(/** @type {string} */ text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** ["a", "b", "c"] → "a, b and c" */
export function listed(/** @type {string[]} */ words) {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}

/** The name of an observation's term; its code when the vocabulary does not know it. */
export function termName(/** @type {ObservationRow} */ observation) {
  return term(observation.term)?.name ?? observation.term;
}

/** What was said of an observation, in one line. */
export function observationInWords(/** @type {ObservationRow} */ observation) {
  const { nature, severity, extent, side, mark } = observation;
  const words = [
    named("nature", nature),
    severity && named("severity", severity),
    extent && named("extent", extent),
    named("side", side),
    mark && "marked on a photograph",
  ];
  return upperFirst(words.filter(Boolean).join(", ").toLowerCase());
}

/** "Recto, 315°" */
export function photographInWords(/** @type {PhotographRow} */ { side, azimuth_deg }) {
  return azimuth_deg === null ? named("side", side) : `${named("side", side)}, ${azimuth_deg}°`;
}
