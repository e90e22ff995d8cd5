/** Small turns of phrase that several sections of the form need. */

import { term } from "../../store/vocabulary.js";
import { listed, named, upperFirst } from "../wording.js";

/** @import { ObservationRow, PhotographRow } from "../../store/types.js" */

/** The name of an observation's term; its code when the vocabulary does not know it. */
export function termName(/** @type {ObservationRow} */ observation) {
  return term(observation.term)?.name ?? observation.term;
}

/** What was said of an observation, in one line. */
export function observationInWords(/** @type {ObservationRow} */ observation) {
  const { nature, severity, extent, side, mark, region } = observation;
  const words = [
    named("nature", nature),
    severity && named("severity", severity),
    extent && named("extent", extent),
    named("side", side),
    region ? "outlined on the sheet" : mark && "marked on a photograph",
  ];
  return upperFirst(words.filter(Boolean).join(", ").toLowerCase());
}

/**
 * What nobody said of an observation and a reader will look for: "severity, extent and place", or
 * "". What is overall has no place, and a feature no severity.
 */
export function unsaidOf(/** @type {ObservationRow} */ { nature, severity, extent, mark, region }) {
  const unsaid = [
    nature !== "feature" && !severity && "severity",
    !extent && "extent",
    extent !== "overall" && !mark && !region && "place",
  ];
  return listed(unsaid.filter((each) => typeof each === "string"));
}

/** Whether places on it are places on the sheet: a scale alone does not tell where it lies. */
export function isOnSheet(/** @type {PhotographRow} */ { homography, placing }) {
  return homography !== null && placing?.kind !== "scale";
}

/** "Not sharp", "Badly exposed", or both, by the check of the shot; "" when it found nothing. */
export function faultInBrief(/** @type {PhotographRow} */ { shot_check }) {
  if (!shot_check) return "";
  const { sharp, exposed } = shot_check;
  return upperFirst([!sharp && "not sharp", !exposed && "badly exposed"].filter(Boolean).join(", "));
}

/** "Recto, 315°" */
export function photographInWords(/** @type {PhotographRow} */ { side, azimuth_deg }) {
  return azimuth_deg === null ? named("side", side) : `${named("side", side)}, ${azimuth_deg}°`;
}
