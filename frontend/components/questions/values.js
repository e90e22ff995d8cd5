/** What a field may hold, and what it holds, as a person would say it. */

import { grade, hazard, kindOfWork, light, term, vocabulary } from "../../store/vocabulary.js";
import {
  dayAndTime,
  duration,
  fieldInWords,
  named,
  optionsOf,
  purposeName,
  purposes,
  shotCheckInWords,
} from "../wording.js";

/** @import { Mark, ObservationRow, Placing, Position, ShotCheck } from "../../store/types.js" */
/** @import { Option } from "../choice.js" */

/** Where a field's name on the wire would not read well. @type {Record<string, string>} */
const NAMES = {
  deleted: "deleted or kept",
  grade: "overall grade",
  nature: "damage or feature",
  nothing_seen: "nothing seen",
  lights: "lights that show it",
  mark: "place on the photograph",
  region: "region on the sheet",
  position: "position of the tablet",
  sheet_uncertainty_mm: "uncertainty of the sheet's size",
  what: "what was measured",
  signed_at: "signature",
  signed_name: "name signed",
};

/** "sheet_width_mm" → "sheet width", "deleted" → "deleted or kept" */
export function fieldName(/** @type {string} */ field) {
  return NAMES[field] ?? fieldInWords(field);
}

/** The unit of a number. @param {string} field @param {Record<string, unknown> | undefined} row */
export function unitOf(field, row) {
  if (field.endsWith("_mm")) return "mm";
  if (field.endsWith("_deg")) return "°";
  if (field.endsWith("_s")) return "s";
  if (field.endsWith("_c")) return "°C";
  if (field.endsWith("_percent")) return "%";
  if (field === "hours" || field.startsWith("hours_")) return "hours";
  if (field === "value" || field === "uncertainty") return row?.unit === "mm2" ? "mm²" : "mm";
  return "";
}

/** The choices of a coded field; none for other fields. @returns {Option[]} */
export function choicesOf(/** @type {string} */ field) {
  const words = vocabulary.value;
  const codes = /** @type {Record<string, {code: string, name: string}[]>} */ ({
    grade: words.grades,
    hazards: words.hazards,
    kind_of_work: words.kinds_of_work,
    light: words.lights,
    lights: words.lights,
    term: words.terms.filter((each) => !each.retired),
  })[field];
  if (codes) return codes.map(({ code, name }) => ({ value: code, label: name }));
  if (field === "purpose") return purposes.map(({ value, label }) => ({ value, label }));
  if (field === "unit") return ["mm", "mm2"].map((value) => ({ value, label: codeInWords(field, value) }));
  return optionsOf(field).filter(({ value }) => value !== "");
}

/**
 * @param {string} field
 * @param {unknown} value  as on the wire
 * @param {Record<string, unknown>} [row]  the record, for the unit of a measurement
 * @param {(id: string) => string} [placeName]
 */
export function valueInWords(field, value, row, placeName = (id) => id) {
  if (field === "deleted") return value ? "Deleted the record" : "Wrote in the record, which keeps it";
  if (value === null || value === undefined || value === "") return "Nothing said";
  if (typeof value === "boolean") return value ? "Yes" : "No";
  if (field === "lamp_s") return duration(Number(value));
  if (typeof value === "number") return [inFigures(value), unitOf(field, row)].join(field.endsWith("_deg") ? "" : " ").trim();
  if (typeof value === "string") {
    if (field.endsWith("_at") || field === "at") return dayAndTime(value);
    if (field === "location" || field.endsWith("_location")) return placeName(value);
    return codeInWords(field, value);
  }
  if (field === "region") return regionInWords(/** @type {NonNullable<ObservationRow["region"]>} */ (value));
  if (field === "mark") return markInWords(/** @type {Mark} */ (value));
  if (field === "homography") return placingInWords(/** @type {number[]} */ (value));
  if (field === "placing") return howPlacedInWords(/** @type {Placing} */ (value));
  if (field === "points") return pointsInWords(/** @type {[number, number][]} */ (value));
  if (field === "shot_check") return shotCheckInWords(/** @type {ShotCheck} */ (value));
  if (field === "position") return positionInWords(/** @type {Position} */ (value));
  if (!Array.isArray(value)) return JSON.stringify(value);
  return value.map((code) => codeInWords(field, String(code))).join(", ") || "Nothing said";
}

function codeInWords(/** @type {string} */ field, /** @type {string} */ code) {
  switch (field) {
    case "grade":
      return grade(code)?.name ?? code;
    case "hazards":
      return hazard(code)?.name ?? code;
    case "kind_of_work":
      return kindOfWork(code)?.name ?? code;
    case "light":
    case "lights":
      return light(code)?.name ?? code;
    case "term":
      return term(code)?.name ?? code;
    case "purpose":
      return purposeName(code);
    case "unit":
      return code === "mm2" ? "mm²" : code;
    // By its key, which says nothing to anybody.
    case "photograph":
    case "observation":
      return `One of its ${field}s`;
    case "now":
      return "One of its observations";
    case "earlier":
      return "An earlier examination";
    case "statement":
      return "A signed text";
    default:
      return named(field, code);
  }
}

/** Three figures after the point are more than anything here was measured to. */
function inFigures(/** @type {number} */ value) {
  return String(Math.round(value * 1000) / 1000).replace("-", "−");
}

function regionInWords(/** @type {NonNullable<ObservationRow["region"]>} */ { points }) {
  const [width, height] = [0, 1].map((axis) => {
    const along = points.map((point) => point[axis]);
    return Math.round(Math.max(...along) - Math.min(...along));
  });
  const [x, y] = [0, 1].map((axis) => Math.round(Math.min(...points.map((point) => point[axis]))));
  return (
    `A region with ${points.length} corners, about ${width} mm wide and ${height} mm high, ` +
    `${x} mm from the left and ${y} mm from the top of the sheet`
  );
}

function markInWords(/** @type {Mark} */ { x, y }) {
  return `A place ${Math.round(100 * x)} % across the photograph and ${Math.round(100 * y)} % down`;
}

/** Nine numbers, row by row, from pixels to millimetres: where the corner lies, and how large. */
function placingInWords(/** @type {number[]} */ [a, b, c, d, e, f, , , i]) {
  const [x, y] = [c / i, f / i].map(Math.round).map(inFigures);
  const pixels = inFigures(Math.round(10 / Math.sqrt(Math.abs(a * e - b * d)) * Math.abs(i)) / 10);
  return (
    `The photograph's top left corner lies ${x} mm right and ${y} mm down from the sheet's, ` +
    `about ${pixels} pixels to the millimetre`
  );
}

/** By what a photograph was laid on the sheet, and how well. */
function howPlacedInWords(/** @type {Placing} */ { kind, size_mm, mm_per_px, uncertainty_mm }) {
  const by = {
    corners: `By the sheet's four corners, of a sheet ${size_mm.map(inFigures).join(" × ")} mm (width × height)`,
    scale: `By a scale of ${size_mm.map(inFigures).join("")} mm`,
    aligned: "By another photograph of the same side",
  }[kind];
  return (
    `${by}, about ${inFigures(Math.round(10 / mm_per_px) / 10)} pixels to the millimetre, ` +
    `to within ${inFigures(uncertainty_mm)} mm`
  );
}

/** A line or an outline on the sheet, by its length or its corners and where it begins. */
function pointsInWords(/** @type {[number, number][]} */ points) {
  const [x, y] = points[0].map(Math.round).map(inFigures);
  return `A line of ${points.length} points that begins ${x} mm right and ${y} mm down on the sheet`;
}

function positionInWords(/** @type {Position} */ { latitude, longitude, accuracy_m }) {
  const degrees = [latitude, longitude].map((each) => each.toFixed(5).replace("-", "−"));
  return `Latitude ${degrees[0]}°, longitude ${degrees[1]}°, to within ${Math.round(accuracy_m)} m`;
}
