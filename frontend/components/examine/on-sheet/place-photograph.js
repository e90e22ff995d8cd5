/** Placing a photograph on the sheet: by the sheet's four corners, or by a scale. */

import {
  apply, CORNERS, ENDS, fromCorners, fromScale, inverse, SCALE_UNCERTAINTY_MM, tapErrorPx, WrongPoints,
} from "../../../imaging/geometry.js";
import { html, useMemo, useState } from "../../../vendor/ui.js";
import { Notice } from "../../notice.js";
import { openPictures } from "../../sheet-view/pictures.js";
import { TextField } from "../../text-field.js";
import { lowerFirst, sheetSize, upperFirst } from "../../wording.js";
import { short } from "../figures.js";
import { NumberField } from "../number-field.js";
import { readLength, readSheetSide, readUncertainty, RULER_UNCERTAINTY_MM } from "../numbers.js";
import { asPhotograph, nameOf, sheetOf } from "./data.js";
import { PointPane } from "./point-pane.js";

/** @import { Matrix, Picture, Placed, Point } from "../../../imaging/geometry.js" */
/** @import { ExaminationRow, PhotographRow, Placing } from "../../../store/types.js" */
/** @import { Held } from "../held.js" */
/** @import { Tapped } from "./point-pane.js" */

/** Pixels themselves: the unit while there is no millimetre yet. */
const PIXELS = [1, 0, 0, 0, 1, 0, 0, 0, 1];
/** The eye sees corners that lie off by about this many pixels of the screen. Common practice, no source. */
const LOOKED_OFF_PX = 2;

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph
 * @param {"corners" | "scale"} props.by
 * @param {PhotographRow | null} props.from  takes over the corners of this one, to be looked at
 * @param {() => void} props.onDone
 */
export function PlacePhotograph({ held, photograph, by, from, onDone }) {
  const pictures = useMemo(() => openPictures(), []);
  const shown = useMemo(() => asPhotograph(photograph), [photograph.id]);
  const [picture, setPicture] = useState(/** @type {Picture | null} */ (null));
  const [points, setPoints] = useState(/** @type {Tapped[] | null} */ (null));
  const [selected, setSelected] = useState(/** @type {number | null} */ (null));
  const [length, setLength] = useState("");
  const [isSizeOpen, setIsSizeOpen] = useState(false);
  const examination = /** @type {ExaminationRow} */ (held.examination.value);
  const { sheet_width_mm: width_mm, sheet_height_mm: height_mm } = examination;

  const names = by === "corners" ? CORNERS : ENDS;
  const sheet = sheetOf(examination, held.photographs.value);
  const atFirst = useMemo(() => beginning(photograph, by, from, sheet), [photograph.id, by, from?.id]);
  const set = points ?? atFirst;
  // Corners that were taken over and not touched are those of the other photograph.
  const isTakenOver = from !== null && points === null;
  const reading = readLength(length);

  /** @type {{placed: Placed, placing: Placing} | {sentence: string} | null} */
  let result = null;
  if (isTakenOver) result = takenOver(from);
  else if (picture && set.length === names.length) result = worked(set, by, examination, reading.value ?? null, picture);

  const keep = async () => {
    if (!picture || !result || !("placed" in result)) return;
    const { width_px, height_px } = picture;
    const isTurned = photograph.width_px === height_px && photograph.height_px === width_px;
    await held.change("photograph", photograph.id, {
      homography: result.placed.matrix,
      placing: result.placing,
      // As one sees it: the camera may have stored it on its side.
      ...(isTurned || photograph.width_px === null ? { width_px, height_px } : {}),
    });
    onDone();
  };
  const size = picture ?? { width_px: photograph.width_px ?? 400, height_px: photograph.height_px ?? 300 };
  const isSized = Boolean(width_mm && height_mm);
  const asksSize = by === "corners" && !isTakenOver;

  return [
    html`<div class="stage-picture" key="picture">
      <${PointPane}
        photograph=${shown}
        pictures=${pictures}
        matrix=${PIXELS}
        bounds=${{ left: 0, top: 0, right: size.width_px, bottom: size.height_px }}
        hasScale=${false}
        points=${set}
        onPoints=${setPoints}
        most=${names.length}
        shape=${by === "corners" ? "outline" : "line"}
        names=${names.map((name) => upperFirst(name.replace(" corner", "")))}
        selected=${selected}
        onSelect=${setSelected}
        onLoad=${(/** @type {Picture} */ { width_px, height_px }) => setPicture({ width_px, height_px })}
      />
    </div>`,
    html`<div class="stage-panel stack" key="panel">
      <h2>${by === "corners" ? "Set the sheet’s corners" : "Use the scale"}</h2>
      ${isTakenOver
        ? html`<p>
            These are the corners of ${lowerFirst(nameOf(from))}. The camera may have moved in between: look
            whether they lie on the sheet’s corners here too. Drag any that does not.
          </p>`
        : html`<p class="stage-task" role="status">
            ${set.length < names.length
              ? `Press near the ${names[set.length]}${by === "corners" ? " of the sheet" : " of the scale"}, aim in the magnified circle, and lift.`
              : "Drag a point to set it anew; the arrow keys move it, too."}
          </p>`}
      <ol class="point-chips">
        ${names.map(
          (name, at) => html`<li key=${name}>
            <button
              type="button"
              class="button"
              disabled=${at >= set.length}
              aria-pressed=${at === selected}
              onClick=${() => setSelected(at)}
            >
              ${upperFirst(name.replace(" corner", ""))}${at < set.length ? ", set" : ""}
            </button>
          </li>`,
        )}
      </ol>
      ${by === "scale" &&
      html`<${TextField}
        label="Length between the two ends"
        unit="mm"
        inputMode="decimal"
        value=${length}
        error=${reading.sentence}
        onInput=${setLength}
        hint="As marked on the scale, for example 50."
      />`}
      ${asksSize &&
      (isSized && !isSizeOpen
        ? html`<div class="row sheet-size">
            <p>
              The sheet measures ${sheetSize(height_mm, width_mm)}, height × width,
              ± ${examination.sheet_uncertainty_mm} mm.
            </p>
            <button type="button" class="button" onClick=${() => setIsSizeOpen(true)}>
              Change the size
            </button>
          </div>`
        : html`<${SheetSize} held=${held} examination=${examination} />`)}
      ${result && "sentence" in result && html`<${Notice} kind="problem"><p>${result.sentence}</p><//>`}
      ${result &&
      "placed" in result &&
      html`<p role="status">
          One pixel is ${short(result.placed.mm_per_px)}. A place told on this photograph is sure to
          ± ${short(result.placed.uncertainty_mm)}.
        </p>
        ${result.placed.caution && html`<${Notice}><p>${result.placed.caution}</p><//>`}`}
      <button
        type="button"
        class="button-next"
        disabled=${!picture || !result || "sentence" in result}
        onClick=${keep}
      >
        ${by === "corners" ? "Keep the corners" : "Keep the scale"}
      </button>
      <div class="row">
        <button
          type="button"
          class="button"
          disabled=${set.length === 0}
          onClick=${() => {
            setPoints([]);
            setSelected(null);
          }}
        >
          Start again
        </button>
        <button type="button" class="button" onClick=${onDone}>Leave as it was</button>
      </div>
    </div>`,
  ];
}

/** @param {{held: Held, examination: ExaminationRow}} props */
function SheetSize({ held, examination }) {
  const change = (/** @type {Partial<ExaminationRow>} */ fields) => held.changeExamination(fields);
  const field = (
    /** @type {string} */ label,
    /** @type {"sheet_height_mm" | "sheet_width_mm" | "sheet_uncertainty_mm"} */ name,
    /** @type {typeof readSheetSide} */ read,
  ) => html`<${NumberField}
    held=${held}
    label=${label}
    unit="mm"
    fieldKey=${`examination:${name}`}
    value=${examination[name]}
    read=${read}
    onValue=${(/** @type {number | null} */ mm) =>
      change({ [name]: name === "sheet_uncertainty_mm" ? (mm ?? RULER_UNCERTAINTY_MM) : mm })}
  />`;
  return html`<div>
    <h3>Sheet size</h3>
    <p class="soft small">Measure the whole sheet with a ruler, without its mount.</p>
    <div class="number-fields">
      ${field("Height", "sheet_height_mm", readSheetSide)}
      ${field("Width", "sheet_width_mm", readSheetSide)}
      ${field("Uncertainty, ±", "sheet_uncertainty_mm", readUncertainty)}
    </div>
  </div>`;
}

/**
 * The points that stand there at first: its own, or those of another photograph.
 *
 * @param {PhotographRow} photograph @param {"corners" | "scale"} by @param {PhotographRow | null} from
 * @param {{width_mm: number, height_mm: number} | null} sheet
 * @returns {Tapped[]}
 */
function beginning(photograph, by, from, sheet) {
  const tap_px = tapErrorPx(1);
  const of = from ?? photograph;
  const points =
    of.placing?.kind === by
      ? of.placing.points
      : by === "corners" && of.placing?.kind === "aligned" && of.homography && sheet
        ? cornersIn(of.homography, sheet)
        : [];
  return points.map((at) => ({ at, tap_px }));
}

/**
 * Where a placed photograph shows the sheet's corners, in its pixels.
 *
 * @param {Matrix} matrix @param {{width_mm: number, height_mm: number}} sheet @returns {Point[]}
 */
function cornersIn(matrix, { width_mm, height_mm }) {
  const back = inverse(matrix);
  const corners = [[0, 0], [width_mm, 0], [width_mm, height_mm], [0, height_mm]];
  return corners.map(([x, y]) => apply(back, [x, y]));
}

/** The other photograph's placing, a little less sure. @returns {{placed: Placed, placing: Placing}} */
function takenOver(/** @type {PhotographRow} */ from) {
  const { mm_per_px, uncertainty_mm } = /** @type {Placing} */ (from.placing);
  const sure = Math.hypot(uncertainty_mm, LOOKED_OFF_PX * mm_per_px);
  const matrix = /** @type {number[]} */ (from.homography);
  return {
    placed: { matrix, mm_per_px, uncertainty_mm: sure, caution: "", warp: [], tap_px: LOOKED_OFF_PX },
    placing: { kind: "aligned", points: [], size_mm: [], mm_per_px, uncertainty_mm: sure, photograph: from.id },
  };
}

/**
 * @param {Tapped[]} tapped @param {"corners" | "scale"} by @param {ExaminationRow} examination
 * @param {number | null} length_mm @param {Picture} picture
 * @returns {{placed: Placed, placing: Placing} | {sentence: string} | null}
 */
function worked(tapped, by, examination, length_mm, picture) {
  const { sheet_width_mm: width_mm, sheet_height_mm: height_mm, sheet_uncertainty_mm } = examination;
  const points = tapped.map(({ at }) => /** @type {Point} */ (at.map((px) => Math.round(px * 100) / 100)));
  const tap_px = Math.max(...tapped.map((each) => each.tap_px));
  try {
    if (by === "corners") {
      if (!width_mm || !height_mm) return null;
      const placed = fromCorners(points, { width_mm, height_mm, sheet_uncertainty_mm, tap_px, picture });
      return { placed, placing: kept("corners", points, [width_mm, height_mm], placed) };
    }
    if (!length_mm) return null;
    const length_uncertainty_mm = SCALE_UNCERTAINTY_MM;
    const placed = fromScale(points, { length_mm, length_uncertainty_mm, tap_px, picture });
    return { placed, placing: kept("scale", points, [length_mm], placed) };
  } catch (error) {
    if (error instanceof WrongPoints) return { sentence: error.message };
    throw error;
  }
}

/** @returns {Placing} */
function kept(
  /** @type {"corners" | "scale"} */ kind,
  /** @type {Point[]} */ points,
  /** @type {number[]} */ size_mm,
  /** @type {Placed} */ { mm_per_px, uncertainty_mm },
) {
  return { kind, points, size_mm, mm_per_px, uncertainty_mm };
}
