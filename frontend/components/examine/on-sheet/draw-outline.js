/** Drawing the outline of an observation on a placed photograph. */

import { areaOf, checkOutline, mirrored, WrongPoints } from "../../../imaging/geometry.js";
import { html, useMemo, useState } from "../../../vendor/ui.js";
import { Choice } from "../../choice.js";
import { Notice } from "../../notice.js";
import { openPictures } from "../../sheet-view/pictures.js";
import { lowerFirst } from "../../wording.js";
import { withUncertainty } from "../figures.js";
import { RemoveButton } from "../remove-button.js";
import { termName } from "../words.js";
import { asPhotograph, outlinesOf, placedOf, sheetData } from "./data.js";
import { PointPane } from "./point-pane.js";

/** @import { Point } from "../../../imaging/geometry.js" */
/** @import { ExaminationRow, ObservationRow, PhotographRow } from "../../../store/types.js" */
/** @import { Held } from "../held.js" */
/** @import { Tapped } from "./point-pane.js" */

/** @typedef {"points" | "box"} Way */

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph  one that is placed on the sheet
 * @param {ObservationRow} props.observation
 * @param {() => void} props.onDone
 */
export function DrawOutline({ held, photograph, observation, onDone }) {
  const pictures = useMemo(() => openPictures(), []);
  const shown = useMemo(() => asPhotograph(photograph), [photograph.id, photograph.homography]);
  const examination = /** @type {ExaminationRow} */ (held.examination.value);
  const photographs = held.photographs.value;
  const data = sheetData({
    examination,
    photographs,
    observations: held.observations.value,
    measurements: held.measurements.value,
  });
  const sheet = /** @type {{width_mm: number, height_mm: number}} */ (data.sheet);
  // A region is told from the observation's own side, whichever the photograph shows.
  const isOther = observation.side !== photograph.side;
  const turned = (/** @type {Point[]} */ points) =>
    isOther ? points.map((point) => mirrored(point, sheet.width_mm)) : points;

  const [way, setWay] = useState(/** @type {Way} */ ("points"));
  const [points, setPoints] = useState(() =>
    turned(observation.region?.points ?? []).map((at) => ({ at, tap_px: 0 })),
  );
  const [selected, setSelected] = useState(/** @type {number | null} */ (null));
  const name = lowerFirst(termName(observation));
  const number = held.observations.value.findIndex(({ id }) => id === observation.id) + 1;
  const outline = way === "box" && points.length === 2 ? boxOf(points) : points.map(({ at }) => at);
  const result = outline.length < 3 ? null : worked(outline, points, photograph, examination, photographs);
  const startAgain = () => {
    setPoints([]);
    setSelected(null);
  };
  const keep = () => {
    const within = (/** @type {number} */ mm, /** @type {number} */ most) =>
      Math.round(Math.min(most, Math.max(0, mm)) * 100) / 100;
    const kept = turned(outline).map(([x, y]) => [within(x, sheet.width_mm), within(y, sheet.height_mm)]);
    held.change("observation", observation.id, { region: { kind: "polygon", points: kept } });
    onDone();
  };
  const drawn = outlinesOf(data, photograph, observation.id);
  const box = /** @type {const} */ ({
    id: "box", number: "", name: "", nature: "damage", points: outline, strong: true,
  });

  return [
    html`<div class="stage-picture" key="picture">
      <${PointPane}
        photograph=${shown}
        pictures=${pictures}
        matrix=${photograph.homography}
        bounds=${{ left: 0, top: 0, right: sheet.width_mm, bottom: sheet.height_mm }}
        hasScale
        points=${points}
        onPoints=${setPoints}
        most=${way === "box" ? 2 : Infinity}
        shape=${way === "box" ? "apart" : "outline"}
        selected=${selected}
        onSelect=${setSelected}
        outlines=${way === "box" && points.length === 2 ? [...drawn, box] : drawn}
      />
    </div>`,
    html`<div class="stage-panel stack" key="panel">
      <h2>Outline ${number}: ${name}</h2>
      <${Choice}
        label="How the outline is drawn"
        name="outline-way"
        hideLabel
        options=${[
          { value: "points", label: "By points", hint: "Around it, as it lies." },
          { value: "box", label: "By a box", hint: "Two opposite corners." },
        ]}
        value=${way}
        onChange=${(/** @type {Way} */ picked) => {
          setWay(picked);
          startAgain();
        }}
      />
      <p class="stage-task">
        ${way === "box"
          ? "Press at one corner of the box, aim, and lift; then at the opposite one."
          : "Press, aim and lift at points around it, in their order along the edge. Drag a point to move it."}
      </p>
      ${isOther &&
      html`<p class="small">
        ${termName(observation)} is on the ${observation.side}, and this photograph shows the
        ${photograph.side}: draw it where it lies as seen from here. It is turned over for you.
      </p>`}
      ${result &&
      ("value" in result
        ? html`<p role="status" class="numeral">It covers ${withUncertainty(result, "mm2")}.</p>`
        : html`<${Notice} kind="problem"><p>${result.sentence}</p><//>`)}
      <div class="row">
        <button type="button" class="button" disabled=${points.length === 0} onClick=${() => setPoints(points.slice(0, -1))}>
          Take the last point away
        </button>
        <button type="button" class="button" disabled=${points.length === 0} onClick=${startAgain}>Start again</button>
      </div>
      <button type="button" class="button-next" disabled=${!result || !("value" in result)} onClick=${keep}>
        Keep the outline
      </button>
      <div class="row">
        <button type="button" class="button" onClick=${onDone}>Leave as it was</button>
      </div>
      ${observation.region &&
      html`<${RemoveButton}
        label="Remove the outline"
        question=${`Remove the outline of ${name}? What is said of it stays.`}
        onRemove=${() => {
          held.change("observation", observation.id, { region: null });
          onDone();
        }}
      />`}
    </div>`,
  ];
}

/** The four corners of a box by two opposite ones, clockwise. @param {Tapped[]} points @returns {Point[]} */
function boxOf([{ at: [ax, ay] }, { at: [bx, by] }]) {
  const [left, right] = [Math.min(ax, bx), Math.max(ax, bx)];
  const [top, bottom] = [Math.min(ay, by), Math.max(ay, by)];
  return [[left, top], [right, top], [right, bottom], [left, bottom]];
}

/**
 * @param {Point[]} outline @param {Tapped[]} points @param {PhotographRow} photograph
 * @param {ExaminationRow} examination @param {PhotographRow[]} photographs
 * @returns {{value: number, uncertainty: number} | {sentence: string}}
 */
function worked(outline, points, photograph, examination, photographs) {
  try {
    checkOutline(outline);
    const placed = placedOf(photograph, examination, photographs);
    const own = Math.max(...points.map(({ tap_px }) => tap_px));
    return areaOf({ ...placed, tap_px: Math.hypot(placed.tap_px, own) }, outline);
  } catch (error) {
    if (error instanceof WrongPoints) return { sentence: error.message };
    throw error;
  }
}
