/**
 * What the report of a check says, for a lender who knows nothing of Fieldleaf: in the order and
 * the words of the report that is made at the desk (survey/reports/).
 */

import { light as lightOf, term as termOf, vocabulary } from "../../store/vocabulary.js";
import { nameOf as photographName } from "../examine/on-sheet/data.js";
import { isOnSheet, termName } from "../examine/words.js";
import { withUncertainty } from "../examine/figures.js";
import { conditionsOf } from "../loan/condition-rows.js";
import { agreed } from "../loan/conditions.js";
import { answerName, halfSigned, lackingOf, resultOf } from "../loan/words.js";
import { fieldName, valueInWords } from "../questions/values.js";
import { day, duration, listed, lowerFirst, moment, named, sheetSize, upperFirst } from "../wording.js";
import { detailsOf } from "./data.js";
import { labelsOf, scaleAt, scaleOf, shapesIn, shapesOn } from "./shapes.js";

/** @import { AmendmentRow, ExaminationRow, LoanRow, ObservationRow, PhotographRow } from "../../store/types.js" */
/** @import { Detail, Report, State } from "./data.js" */
/** @import { Picture } from "./pictures.js" */
/** @import { Label, Shape } from "./shapes.js" */

/** @typedef {[name: string, words: string][]} Facts */

/**
 * One photograph, or a part of one. `picture` is the key of what is shown; `heading` begins the
 * caption; `trouble` is a sentence when it cannot be shown.
 * @typedef {{
 *   number: number,
 *   photograph: PhotographRow,
 *   picture: string,
 *   heading: string,
 *   side: string,
 *   caption: string,
 *   alt: string,
 *   trouble: string,
 *   size: {width_px: number, height_px: number},
 *   shapes: Shape[],
 *   labels: Label[],
 *   scale: {mm: number, share: number} | null,
 * }} Figure
 *
 * One observation. `facts`: "Damage; slight; along an edge; recto."
 * @typedef {{
 *   number: number,
 *   name: string,
 *   facts: string,
 *   shownBy: string,
 *   drawnOn: string,
 *   hazards: string[],
 *   note: string,
 *   definition: string,
 * }} Line
 *
 * @typedef {ReturnType<typeof contentOf>} Content
 */

/**
 * @param {Report} report
 * @param {object} made
 * @param {Map<string, Picture>} made.pictures  by the key of the photograph
 * @param {boolean} made.isReady  whether there will be no more pictures
 * @param {string} made.maker  who has it made
 * @param {string} made.at  when, ISO 8601
 */
export function contentOf({ whole, now, earlier }, { pictures, isReady, maker, at }) {
  const { check, loan, loaned, object, examination, points, found, measurements } = whole;
  const figures = figuresOf(now, pictures, isReady, 1);
  let next = figures.length + 1;
  const before = earlier.map((state) => {
    const shown = { ...state, photographs: worthShowing(state) };
    const own = figuresOf(shown, pictures, isReady, next);
    next += own.length;
    return { name: toldOf(state.examination), figures: own };
  });
  /** @type {Set<string>} */
  const defined = new Set();
  const line = (/** @type {ObservationRow} */ row, /** @type {number} */ number, /** @type {Figure[]} */ shown) =>
    lineOf(row, number, shown, defined);
  const drawnBefore = (/** @type {ObservationRow} */ row) => before[earlier.findIndex((state) => state.examination.id === row.examination)]?.figures ?? [];
  const stateOf = (/** @type {ObservationRow} */ row) => earlier.find((state) => state.examination.id === row.examination);
  const isSigned = check.statement !== "";
  const details = detailsOf({ whole, now, earlier });
  const all = [...figures, ...before.flatMap((state) => state.figures)];
  return {
    number: object?.accession_number ?? "Not carried",
    title: object?.title ?? "",
    stage: named("stage", check.stage),
    checkedOn: day(examination.started_at),
    isSigned,
    signedOn: isSigned ? signedOn(whole) : "",
    result: [...lackingOf(whole), ...resultOf(whole)],
    hazards: hazardsOf(whole.observations),
    object: objectFacts(whole),
    check: checkFacts(whole),
    loan: loanFacts(loan, loaned),
    agreed: agreedFacts(loan),
    packing: check.stage === "outgoing" ? "Packing" : "Packing and unpacking",
    held: conditionsOf(check, loan, loaned, whole.packed),
    earlierTold: earlierTold(whole, earlier),
    points: points.map((point, place) => {
      const state = stateOf(point.known);
      return {
        number: place + 1,
        name: termName(point.known),
        answer: answerName(point),
        reason: point.answer?.reason ?? "",
        told: state ? toldOf(state.examination) : "an earlier state that is not on this device",
        before: line(point.known, place + 1, drawnBefore(point.known)),
        now: point.now ? line(point.now, place + 1, figures) : null,
        details: details
          .filter(({ number }) => number === place + 1)
          .flatMap((detail) => detailOf(detail, pictures, all) ?? []),
      };
    }),
    findings: found.map((row, place) => line(row, points.length + place + 1, figures)),
    nothingSeen: examination.nothing_seen,
    sides: ["recto", "verso"]
      .map((side) => ({ name: named("side", side), figures: figures.filter((figure) => figure.side === side) }))
      .filter((side) => side.figures.length),
    before: before.filter((state) => state.figures.length),
    hasBehind: all.some(({ shapes }) => shapes.some(({ isBehind }) => isBehind)),
    hasScale: all.some(({ scale }) => scale),
    measurements: measurements.map((row) => {
      const of = now.seen.find(({ observation }) => observation.id === row.observation);
      const [value, uncertainty] = withUncertainty(row, row.unit).split(" ± ");
      const unit = row.unit === "mm2" ? "mm²" : "mm";
      return {
        what: row.what,
        value: `${value} ${unit}`,
        uncertainty: `± ${uncertainty}`,
        of: of ? `${of.number} ${termName(of.observation)}` : "The sheet",
      };
    }),
    notes: [check.note, examination.notes].filter(Boolean),
    signatures: whole.signatures,
    differs: whole.differs,
    later: whole.amendments.map(amended),
    words: wordsUsed(all, whole.observations),
    made: madeFacts(whole, { maker, at }, all.filter(({ trouble }) => trouble).length, all.length),
  };
}

/** "Signed 12 November 2026", or by whom only. @param {Report["whole"]} whole */
function signedOn({ check, signatures }) {
  if (signatures.length === 0) return "Closed, no signature yet";
  const half = halfSigned(check, signatures);
  const on = day(signatures[0].signed_at);
  return half ? `${half.by}, ${on}` : `Signed ${on}`;
}

/** "12 November 2026, Iona Saltmarsh" @param {ExaminationRow} examination */
function toldOf({ started_at, examiner_name }) {
  return [day(started_at), examiner_name].filter(Boolean).join(", ");
}

/** @param {[string, string | undefined][]} facts  those that say something @returns {Facts} */
function given(facts) {
  return facts.flatMap(([name, words]) => (words ? [/** @type {Facts[number]} */ ([name, words])] : []));
}

/** @param {Report["whole"]} whole */
function objectFacts({ object, examination }) {
  return given([
    ["Number", object?.accession_number],
    ["Title", object?.title],
    ["Maker", object?.maker],
    ["Date", object?.date_text],
    ["Medium", object?.media],
    ["Support", object?.support],
    ["Sheet", sheetInWords(examination, object)],
    ["Mount", examination.mount || object?.mounts],
  ]);
}

/** @param {ExaminationRow} examination @param {Report["whole"]["object"]} object */
function sheetInWords({ sheet_width_mm, sheet_height_mm, sheet_uncertainty_mm }, object) {
  const measured = sheetSize(sheet_height_mm, sheet_width_mm);
  if (measured) return `${measured} (height × width), ± ${sheet_uncertainty_mm} mm`;
  const listedSize = sheetSize(object?.height_mm, object?.width_mm);
  return listedSize
    ? `${listedSize} (height × width) by the catalogue, which gives no uncertainty; not measured this time`
    : "Not measured";
}

/** @param {Report["whole"]} whole */
function checkFacts({ check, examination, visit, signatures }) {
  const times = signatures.map(({ signed_at }) => moment(signed_at));
  const by = signatures.map(({ name, role }, at) => `${name}, ${lowerFirst(named("role", role))}, ${times[at]}`);
  const signed = check.statement
    ? by.join("; ") || "No signature of it is on this device yet"
    : "Not yet signed: this is a draft";
  const closed = check.statement && examination.signed_at ? moment(examination.signed_at) : "";
  const grade = vocabulary.value.grades.find(({ code }) => code === examination.grade)?.name;
  return given([
    ["Stage", named("stage", check.stage)],
    ["Venue", check.venue || visit?.place || "Not said"],
    ["Examiner", examination.examiner_name],
    ["Examined", moment(examination.started_at)],
    ["Signed", signed],
    ["Closed", closed && !times.includes(closed) ? `${closed}; what was recorded stays as it is from then on` : ""],
    ["Condition", grade ?? ""],
    ["Verso", named("verso_seen", examination.verso_seen)],
    ["Ultraviolet lamp", examination.lamp_s ? `On the sheet for ${duration(examination.lamp_s)}` : ""],
  ]);
}

/** @param {LoanRow} loan @param {Report["whole"]["loaned"]} loaned */
function loanFacts(loan, loaned) {
  const venues = loan.venues.map(({ name, first_day, last_day }, at) => [
    loan.venues.length > 1 ? `Venue ${at + 1}` : "Venue",
    `${name}, ${day(first_day)} to ${day(last_day)}`,
  ]);
  return given([
    ["Loan", `${loan.reference}, ${loan.title}`],
    ["Lender", loan.lender],
    ["Borrower", loan.borrower],
    ["Days", `${day(loan.first_day)} to ${day(loan.last_day)}`],
    .../** @type {Facts} */ (venues),
    ["Couriers", loan.couriers.join(", ")],
    ["Listed crate", loaned?.crate],
    ["Frame", loaned?.frame],
    ["Glazing", loaned?.glazing],
  ]);
}

/** @param {LoanRow} loan */
function agreedFacts(loan) {
  return given([
    ...agreed(loan).map(([name, words]) => /** @type {[string, string]} */ ([name, upperFirst(words)])),
    ["Handling", loan.handling],
    ["Framing", loan.framing],
  ]);
}

/** @param {Report["whole"]} whole @param {State[]} states */
function earlierTold({ check, earlier }, states) {
  if (!check.earlier) return "No earlier signed state was known, so there is nothing to compare with.";
  if (!earlier) return "The earlier state is not on this device; its points are told as far as they are.";
  const signed = earlier.signed_at ? `, signed by ${earlier.signed_name}, ${moment(earlier.signed_at)}` : "";
  const others = states.filter(({ examination }) => examination.id !== earlier.id).map(({ examination }) => toldOf(examination));
  return (
    `Compared with the state of ${day(earlier.started_at)}${signed}.` +
    (others.length ? ` What could not be seen then is compared with the state before: ${others.join("; ")}.` : "")
  );
}

/**
 * @param {State} state @param {Map<string, Picture>} pictures @param {boolean} isReady
 * @param {number} first  number of the first one
 * @returns {Figure[]}
 */
function figuresOf(state, pictures, isReady, first) {
  return state.photographs.map((photograph, at) => {
    const picture = pictures.get(photograph.id);
    const size = picture ?? { width_px: photograph.width_px ?? 4, height_px: photograph.height_px ?? 3 };
    const shapes = picture ? shapesOn(photograph, size, state) : [];
    const scale = picture ? scaleOf(photograph, size, state.sheet) : null;
    const name = photographName(photograph);
    const outlined = shapes.map(({ number }) => outlinedName(state, number));
    return {
      number: first + at,
      photograph,
      picture: photograph.id,
      heading: String(first + at),
      side: photograph.side,
      caption: `${name}. ${captionOf(photograph, picture)}`,
      alt:
        `${name}. ${outlined.length ? `Marked on it: ${outlined.join(", ")}.` : "Nothing is marked on it."}` +
        (scale ? ` With a scale of ${scale.mm} mm.` : ""),
      trouble: picture ? "" : isReady ? NOT_HERE : "This picture is being prepared.",
      size,
      shapes,
      labels: labelsOf(shapes, size),
      scale,
    };
  });
}

/**
 * @param {Detail} detail @param {Map<string, Picture>} pictures
 * @param {Figure[]} figures  all whole photographs of the report
 * @returns {Figure | null}
 */
function detailOf({ key, number, when, state, photograph }, pictures, figures) {
  const picture = pictures.get(key);
  const of = figures.find((figure) => figure.photograph.id === photograph.id);
  if (!picture || !of) return null;
  const { box, ...size } = picture;
  const shapes = box
    ? shapesIn(shapesOn(photograph, of.size, state).filter((shape) => shape.number === number), box)
    : [];
  const middle = box && /** @type {[number, number]} */ ([box.x + box.width / 2, box.y + box.height / 2]);
  const scale = middle && photograph.homography ? scaleAt(photograph.homography, middle, box.width) : null;
  const words = `${box ? "Part of photograph" : "Photograph"} ${of.number}`;
  return {
    number,
    photograph,
    picture: key,
    heading: `${when}.`,
    side: photograph.side,
    caption: `${words}: ${lowerFirst(photographName(photograph))}.`,
    alt:
      `${words}, as it ${when === "Now" ? "is now" : "was before"}: ${outlinedName(state, number)}.` +
      (scale ? ` With a scale of ${scale.mm} mm.` : ""),
    trouble: "",
    size,
    shapes,
    labels: labelsOf(shapes, size),
    scale,
  };
}

/** "1 Tear" @param {State} state @param {number} number */
function outlinedName(state, number) {
  const seen = state.seen.find((each) => each.number === number);
  return seen ? `${number} ${termName(seen.observation)}` : String(number);
}

const NOT_HERE = "This photograph is not on the device that made the report, so it is not shown. The lender has it.";

/** @param {PhotographRow} photograph @param {Picture | undefined} picture */
function captionOf(photograph, picture) {
  const { taken_at, caption, homography } = photograph;
  return [
    `${moment(taken_at)}.`,
    caption && `${caption}.`,
    !homography && "Not placed on the sheet, so without a scale.",
    homography && !isOnSheet(photograph) && "Placed by a scale alone: its size is known, not where each place lies.",
    picture?.isSmall && "Only a small picture of it is on the device that made the report.",
  ]
    .filter(Boolean)
    .join(" ");
}

/** Those that a report shows: all of the check's own, and those of earlier states that tell something. @param {Report} report */
export function photographsOf({ now, earlier }) {
  return [...now.photographs, ...earlier.flatMap(worthShowing)];
}

/** The first photograph of each side, and all that something is drawn on. @param {State} state */
function worthShowing(state) {
  const firsts = ["recto", "verso"].map((side) => state.photographs.find((row) => row.side === side));
  const size = { width_px: 1, height_px: 1 };
  return state.photographs.filter((row) => firsts.includes(row) || shapesOn(row, size, state).length > 0);
}

/**
 * @param {ObservationRow} row @param {number} number
 * @param {Figure[]} figures  those it may be drawn on
 * @param {Set<string>} defined  terms that the report has defined before; grows
 * @returns {Line}
 */
function lineOf(row, number, figures, defined) {
  const term = termOf(row.term);
  const isFeature = row.nature === "feature";
  const facts = [
    named("nature", row.nature),
    !isFeature && (row.severity ? lowerFirst(named("severity", row.severity)) : "severity not said"),
    row.extent ? lowerFirst(named("extent", row.extent)) : "extent not said",
    lowerFirst(named("side", row.side)),
  ];
  const on = figures.filter(({ shapes }) => shapes.some((shape) => shape.number === number)).map((figure) => figure.number);
  const definition = defined.has(row.term) ? "" : (term?.definition ?? "");
  defined.add(row.term);
  return {
    number,
    name: termName(row),
    facts: `${facts.filter(Boolean).join("; ")}.`,
    shownBy: row.lights.map((code) => lowerFirst(lightOf(code)?.name ?? code)).join(", "),
    drawnOn: on.length ? `${on.length === 1 ? "photograph" : "photographs"} ${listed(on.map(String))}` : "",
    hazards: isFeature ? [] : (term?.hazards ?? []).map(hazardName),
    note: row.note,
    definition,
  };
}

/** @param {string} code */
function hazardName(code) {
  return vocabulary.value.hazards.find((each) => each.code === code)?.name ?? code;
}

/** What cannot wait, with what to do about it and to keep to. @param {ObservationRow[]} observations */
function hazardsOf(observations) {
  const codes = new Set(
    observations.filter(({ nature }) => nature !== "feature").flatMap(({ term }) => termOf(term)?.hazards ?? []),
  );
  const { hazards, cautions } = vocabulary.value;
  return hazards
    .filter(({ code }) => codes.has(code))
    .map((hazard) => ({
      ...hazard,
      seen: observations
        .filter(({ nature, term }) => nature !== "feature" && termOf(term)?.hazards.includes(hazard.code))
        .map(termName),
      keepTo: cautions.find(({ code }) => code === hazard.caution),
    }));
}

/** @param {AmendmentRow} row */
function amended({ id, field, before, after, reason, signed_name, signed_at }) {
  return {
    id,
    what: field ? upperFirst(fieldName(field)) : "Added",
    change: field ? `As signed: ${valueInWords(field, before, undefined)}. Amended to: ${valueInWords(field, after, undefined)}.` : "",
    reason,
    by: `${signed_name}, ${moment(signed_at)}`,
  };
}

/** What a reader outside the trade may not know. @param {Figure[]} figures @param {ObservationRow[]} observations @returns {Facts} */
function wordsUsed(figures, observations) {
  const codes = new Set([...figures.map(({ photograph }) => photograph.light), ...observations.flatMap(({ lights }) => lights)]);
  return [
    ["Recto, verso", "The front and the back of the sheet."],
    ...vocabulary.value.lights
      .filter(({ code }) => codes.has(code))
      .map(({ name, purpose }) => /** @type {Facts[number]} */ ([name, purpose])),
    ["Damage, feature", "Damage is what happened to the sheet. A feature belongs to its making and is no harm."],
  ];
}

/**
 * @param {Report["whole"]} whole @param {{maker: string, at: string}} made
 * @param {number} missing @param {number} of
 */
function madeFacts({ check, signatures, amendments }, { maker, at }, missing, of) {
  const names = listed(signatures.map(({ name }) => name));
  const tells = check.statement
    ? `The check as it was signed${names && ` by ${names}`}${amendments.length ? ", with what was added later told apart" : ""}`
    : "The check as a draft, not yet signed";
  return given([
    ["Report made", `${moment(at)}${maker && `, by ${maker}`}`],
    ["It tells", tells],
    ["Made with", "Fieldleaf, on the device that was at the crate, from the records it holds"],
    ["Lacks", missing ? `${missing} of ${of} photographs could not be shown; the report says which, and why.` : ""],
  ]);
}
