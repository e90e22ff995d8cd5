/** Measuring on a placed photograph: the length of a line, an area, the interval of lines. */

import { apply, areaOf, intervalOf, lengthOf, WrongPoints } from "../../../imaging/geometry.js";
import { html, useMemo, useState } from "../../../vendor/ui.js";
import { Choice } from "../../choice.js";
import { Notice } from "../../notice.js";
import { openPictures } from "../../sheet-view/pictures.js";
import { boundsOf } from "../../sheet-view/view.js";
import { TextField } from "../../text-field.js";
import { lowerFirst } from "../../wording.js";
import { withUncertainty } from "../figures.js";
import { termName } from "../words.js";
import { asPhotograph, outlinesOf, placedOf, sheetData } from "./data.js";
import { Measured } from "./measured.js";
import { PointPane } from "./point-pane.js";

/** @import { Placed, Point } from "../../../imaging/geometry.js" */
/** @import { ExaminationRow, PhotographRow } from "../../../store/types.js" */
/** @import { Held } from "../held.js" */
/** @import { Tapped } from "./point-pane.js" */

/** @typedef {"length" | "area" | "interval"} Kind */

/**
 * What each asks for: the fewest points, how they are joined, and the words.
 * @type {Record<Kind, {label: string, what: string, fewest: number,
 *   shape: "line" | "outline", unit: "mm" | "mm2", task: string,
 *   of: (placed: Placed, points: Point[]) => {value: number, uncertainty: number}}>}
 */
const KINDS = {
  length: {
    label: "Length of a line",
    what: "Length",
    fewest: 2,
    shape: "line",
    unit: "mm",
    task: "Set points along a tear or a crease, from one end to the other.",
    of: lengthOf,
  },
  area: {
    label: "Area",
    what: "Area",
    fewest: 3,
    shape: "outline",
    unit: "mm2",
    task: "Set points around a stain or a loss, in their order along the edge.",
    of: areaOf,
  },
  interval: {
    label: "Interval of lines",
    what: "Chain-line interval",
    fewest: 2,
    shape: "line",
    unit: "mm",
    task: "Set one point on each chain line in turn, straight across them, and leave none out.",
    of: intervalOf,
  },
};
const SHEET = "sheet";

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph
 * @param {string | null} props.observation  what it is measured of, at first; null for the sheet
 * @param {() => void} props.onDone
 */
export function Measure({ held, photograph, observation, onDone }) {
  const pictures = useMemo(() => openPictures(), []);
  const shown = useMemo(() => asPhotograph(photograph), [photograph.id, photograph.homography]);
  const [kind, setKind] = useState(/** @type {Kind} */ ("length"));
  const [of, setOf] = useState(observation ?? SHEET);
  const [what, setWhat] = useState("");
  const [points, setPoints] = useState(/** @type {Tapped[]} */ ([]));
  const [selected, setSelected] = useState(/** @type {number | null} */ (null));
  const examination = /** @type {ExaminationRow} */ (held.examination.value);
  const photographs = held.photographs.value;
  const observations = held.observations.value;
  const asked = KINDS[kind];

  const startAgain = () => {
    setPoints([]);
    setSelected(null);
  };
  const named = what.trim() || defaultName(kind, points.length);
  const result = points.length < asked.fewest ? null : measured(asked, points, photograph, examination, photographs);
  const keep = async () => {
    if (!result || !("value" in result)) return;
    const kept = await held.add("measurement", {
      observation: of === SHEET ? null : of,
      what: named.slice(0, MOST_LETTERS),
      value: rounded(result.value),
      uncertainty: rounded(result.uncertainty),
      unit: asked.unit,
      photograph: photograph.id,
      points: points.map(({ at }) => at.map(rounded)),
    });
    if (!kept) return;
    setWhat("");
    startAgain();
  };
  const matrix = photograph.homography ?? [];
  const data = sheetData({ examination, photographs, observations, measurements: held.measurements.value });
  const size = { width_px: photograph.width_px ?? 400, height_px: photograph.height_px ?? 300 };
  const whole =
    data.sheet && photograph.placing?.kind !== "scale"
      ? { left: 0, top: 0, right: data.sheet.width_mm, bottom: data.sheet.height_mm }
      : boundsOf([apply(matrix, [0, 0]), apply(matrix, [size.width_px, size.height_px])]);

  return [
    html`<div class="stage-picture" key="picture">
      <${PointPane}
        photograph=${shown}
        pictures=${pictures}
        matrix=${matrix}
        bounds=${whole}
        hasScale
        points=${points}
        onPoints=${setPoints}
        most=${Infinity}
        shape=${asked.shape}
        names=${kind === "interval" ? points.map((_, at) => String(at + 1)) : []}
        selected=${selected}
        onSelect=${setSelected}
        outlines=${outlinesOf(data, photograph)}
      />
    </div>`,
    html`<div class="stage-panel stack" key="panel">
      <h2>Measure on the photograph</h2>
      <${Choice}
        label="What is measured"
        name="measure-kind"
        hideLabel
        options=${Object.entries(KINDS).map(([value, { label }]) => ({ value, label }))}
        value=${kind}
        onChange=${(/** @type {Kind} */ picked) => {
          setKind(picked);
          startAgain();
        }}
      />
      <p class="stage-task">${asked.task}</p>
      ${result && "value" in result
        ? html`<p class="measured-value numeral" role="status">${withUncertainty(result, asked.unit)}</p>
            ${kind === "interval" &&
            html`<p class="soft small">Mean of ${points.length - 1} between ${points.length} lines.</p>`}`
        : result
          ? html`<${Notice} kind="problem"><p>${result.sentence}</p><//>`
          : html`<p class="soft" role="status">
              ${points.length === 0 ? "No point is set yet." : `${points.length} of at least ${asked.fewest} points are set.`}
            </p>`}
      <div class="row">
        <button type="button" class="button" disabled=${points.length === 0} onClick=${() => setPoints(points.slice(0, -1))}>
          Take the last point away
        </button>
        <button type="button" class="button" disabled=${points.length === 0} onClick=${startAgain}>Start again</button>
      </div>
      <div class="field">
        <label for="measure-of">Measured of</label>
        <div class="field-line">
          <select
            id="measure-of"
            value=${of}
            onChange=${(/** @type {{currentTarget: HTMLSelectElement}} */ event) => setOf(event.currentTarget.value)}
          >
            <option value=${SHEET} selected=${of === SHEET}>The sheet</option>
            ${observations.map(
              (each, at) => html`<option key=${each.id} value=${each.id} selected=${of === each.id}>
                ${at + 1}: ${lowerFirst(termName(each))}
              </option>`,
            )}
          </select>
        </div>
      </div>
      <${TextField}
        label="Name of the measurement"
        value=${what}
        onInput=${setWhat}
        hint=${`Left empty, it is called “${defaultName(kind, points.length)}”.`}
      />
      <button type="button" class="button-next" disabled=${!result || !("value" in result)} onClick=${keep}>
        Keep the measurement
      </button>
      <${Measured} held=${held} photograph=${photograph} />
      <button type="button" class="button" onClick=${onDone}>Done measuring</button>
    </div>`,
  ];
}

/** As many as the record keeps of a name. */
const MOST_LETTERS = 80;

function defaultName(/** @type {Kind} */ kind, /** @type {number} */ points) {
  const { what } = KINDS[kind];
  return kind === "interval" && points > 2 ? `${what}, mean of ${points - 1}` : what;
}

/**
 * @param {(typeof KINDS)[Kind]} kind @param {Tapped[]} points @param {PhotographRow} photograph
 * @param {ExaminationRow} examination @param {PhotographRow[]} photographs
 * @returns {{value: number, uncertainty: number} | {sentence: string}}
 */
function measured(kind, points, photograph, examination, photographs) {
  try {
    const placed = placedOf(photograph, examination, photographs);
    const own = Math.max(...points.map(({ tap_px }) => tap_px));
    const tapped = { ...placed, tap_px: Math.hypot(placed.tap_px, own) };
    return kind.of(tapped, points.map(({ at }) => at));
  } catch (error) {
    if (error instanceof WrongPoints) return { sentence: error.message };
    throw error;
  }
}

/** To the thousandth of a millimetre: no photograph tells more. */
function rounded(/** @type {number} */ value) {
  return Math.round(value * 1000) / 1000;
}
