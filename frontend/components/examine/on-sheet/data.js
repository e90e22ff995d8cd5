/** The photographs of an examination as the sheet view takes them, and what is drawn on them. */

import { apply, placedAgain } from "../../../imaging/geometry.js";
import { MOST_PIXELS_DECODED } from "../../../imaging/inspect.js";
import { db } from "../../../store/database.js";
import { largestPicture } from "../../../store/pictures.js";
import { headersFor } from "../../../store/server.js";
import { session } from "../../../store/session.js";
import { light as lightOf, vocabulary } from "../../../store/vocabulary.js";
import { queryOf } from "../../sheet-view/pictures.js";
import { lowerFirst } from "../../wording.js";
import { withUncertainty } from "../figures.js";
import { isOnSheet, photographInWords, termName } from "../words.js";

/** @import { Placed, Point } from "../../../imaging/geometry.js" */
/** @import { ExaminationRow, MeasurementRow, ObservationRow, PhotographRow } from "../../../store/types.js" */
/** @import { Outline } from "../../sheet-view/outlines.js" */
/** @import { Part, Photograph } from "../../sheet-view/pictures.js" */
/** @import { Data, Line, Observation } from "../../sheet-view/sheet-view.js" */

/**
 * @param {object} of
 * @param {ExaminationRow} of.examination
 * @param {PhotographRow[]} of.photographs
 * @param {ObservationRow[]} of.observations  numbered as they come
 * @param {MeasurementRow[]} of.measurements
 * @returns {Data}
 */
export function sheetData({ examination, photographs, observations, measurements }) {
  const order = vocabulary.value.lights.map(({ code }) => code);
  const sorted = [...photographs].sort(
    (a, b) =>
      a.side.localeCompare(b.side) ||
      order.indexOf(a.light) - order.indexOf(b.light) ||
      (a.azimuth_deg ?? 0) - (b.azimuth_deg ?? 0),
  );
  return {
    photographs: sorted.map(asPhotograph),
    observations: observations.map((each, at) => asObservation(each, at, photographs)),
    lines: linesOf(measurements, photographs),
    sheet: sheetOf(examination, photographs),
  };
}

/** @param {PhotographRow} row @returns {Photograph} */
export function asPhotograph(row) {
  const isHuge = (row.width_px ?? 0) * (row.height_px ?? 0) > MOST_PIXELS_DECODED;
  return {
    id: row.id,
    light: row.light,
    azimuth_deg: row.azimuth_deg,
    side: row.side,
    name: nameOf(row),
    width_px: row.width_px,
    height_px: row.height_px,
    preview: async () => (isHuge ? null : largestPicture(row.sha256)),
    original: isHuge ? null : (part, signal) => originalOrPart(row.sha256, part, signal),
    homography: row.homography,
    by_scale: row.placing?.kind === "scale",
  };
}

/** "Raking light, recto, 315°" */
export function nameOf(/** @type {PhotographRow} */ row) {
  return `${lightOf(row.light)?.name ?? row.light}, ${lowerFirst(photographInWords(row))}`;
}

/**
 * The sheet's size as measured, else as it was when a photograph was placed.
 *
 * @param {ExaminationRow} examination @param {PhotographRow[]} photographs
 * @returns {{width_mm: number, height_mm: number} | null}
 */
export function sheetOf({ sheet_width_mm, sheet_height_mm }, photographs) {
  if (sheet_width_mm && sheet_height_mm) return { width_mm: sheet_width_mm, height_mm: sheet_height_mm };
  const size = photographs.find(({ placing }) => placing?.kind === "corners")?.placing?.size_mm;
  return size ? { width_mm: size[0], height_mm: size[1] } : null;
}

/** @param {ObservationRow} row @param {number} at @param {PhotographRow[]} photographs @returns {Observation} */
function asObservation(row, at, photographs) {
  return {
    id: row.id,
    number: at + 1,
    name: termName(row),
    nature: row.nature,
    ...placeOf(row, photographs),
  };
}

/**
 * Its region; else its mark, told from the side of the photograph that it stands on.
 *
 * @param {ObservationRow} row @param {PhotographRow[]} photographs
 * @returns {{side: "recto" | "verso", points: Point[]}}
 */
function placeOf({ region, mark, side }, photographs) {
  if (region) return { side, points: region.points };
  const on = photographs.find(({ id }) => id === mark?.photograph);
  if (!mark || !on?.homography || !isOnSheet(on) || !on.width_px || !on.height_px) return { side, points: [] };
  return { side: on.side, points: [apply(on.homography, [mark.x * on.width_px, mark.y * on.height_px])] };
}

/** @param {MeasurementRow[]} measurements @param {PhotographRow[]} photographs @returns {Line[]} */
function linesOf(measurements, photographs) {
  return measurements.flatMap((row) => {
    const on = photographs.find(({ id }) => id === row.photograph);
    if (!row.points || !on || !isOnSheet(on)) return [];
    const label = withUncertainty(row, row.unit);
    return [{ id: row.id, name: row.what, label, side: on.side, open: row.unit === "mm", points: row.points }];
  });
}

/**
 * What is drawn on a photograph that is placed: outlines and places of the observations told from
 * its side, and what was measured on that side.
 *
 * @param {Data} data @param {PhotographRow} photograph @param {string | null} [inHand]  id of one to leave out
 * @returns {Outline[]}
 */
export function outlinesOf({ observations, lines = [] }, photograph, inHand = null) {
  if (!isOnSheet(photograph)) return [];
  return [
    ...observations.map((each) => ({ ...each, number: String(each.number) })),
    ...lines.map((each) => ({ ...each, number: "", nature: /** @type {const} */ ("measured") })),
  ].filter(({ id, side, points }) => id !== inHand && side === photograph.side && points.length > 0);
}

/**
 * How a photograph lies, and how surely.
 *
 * @param {PhotographRow} photograph  one that is placed
 * @param {ExaminationRow} examination @param {PhotographRow[]} photographs
 * @returns {Placed}
 * @throws {import("../../../imaging/geometry.js").WrongPoints}
 */
export function placedOf(photograph, examination, photographs) {
  const { homography, placing, width_px, height_px } = photograph;
  if (!homography || !placing) throw new Error("This photograph is not placed.");
  return placedAgain(
    homography,
    placing,
    examination.sheet_uncertainty_mm,
    { width_px: width_px ?? 1, height_px: height_px ?? 1 },
    (id) => photographs.find((each) => each.id === id)?.placing ?? null,
  );
}

/**
 * The original when the tablet has it, else the part that is looked at, from the server.
 *
 * @param {string} sha256 @param {Part} part @param {AbortSignal} signal
 * @returns {Promise<{original: Blob} | {part: Blob} | null>}
 */
async function originalOrPart(sha256, part, signal) {
  const original = (await db.originals.get(sha256))?.blob;
  if (original) return { original };
  if (!navigator.onLine || !session.value) return null;
  const answer = await fetch(`/api/photographs/${sha256}/region?${queryOf(part)}`, {
    headers: headersFor(session.value.token),
    signal,
  });
  return answer.ok ? { part: await answer.blob() } : null;
}
