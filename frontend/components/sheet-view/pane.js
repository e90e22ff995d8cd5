/** One window on the sheet: photographs that lie on it, what is drawn over them, and the gestures. */

import { multiply } from "../../imaging/geometry.js";
import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { KEY_ZOOM, listen } from "./gestures.js";
import { Layer } from "./layer.js";
import { Outlines } from "./outlines.js";
import { barLength, barWords, fitted, matrixOf, moved, placeAt, zoomed } from "./view.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */
/** @import { LayerOnShow } from "./layer.js" */
/** @import { Outline } from "./outlines.js" */
/** @import { Pictures, Rendition } from "./pictures.js" */
/** @import { Bounds, Size, View } from "./view.js" */

const WIDEST_BAR_PX = 160;
/** Below what one aims at there is room for the buttons, so that they hide no corner of it. */
const FOOT_PX = 64;

/**
 * What is drawn on a pane may want to know of it.
 * @typedef {{size: Size, view: View, toPane: Matrix, placeAt: (pixel: Point) => Point}} OnPane
 */

/**
 * @param {object} props
 * @param {string} props.label  read out
 * @param {string[]} props.words  shown in the corner, a line each
 * @param {boolean} [props.isDivided]  the second words belong to the right
 * @param {LayerOnShow[]} props.layers  the first lies lowest
 * @param {Outline[]} props.outlines
 * @param {View | null} props.view  null shows the whole
 * @param {(view: View | null) => void} props.onView
 * @param {Bounds} props.bounds  of the whole, in mm
 * @param {Pictures} props.pictures
 * @param {boolean} props.hasScale  whether a millimetre is one
 * @param {(rendition: Rendition | null, id: string) => void} [props.onLoad]
 * @param {(stage: "press" | "move" | "lift" | "away", place: Point, on: OnPane) => boolean} [props.aim]
 *   takes one finger, at a place in mm; see gestures.js
 * @param {(event: KeyboardEvent, on: OnPane) => void} [props.onKey]  before the pane's own keys
 * @param {boolean} [props.hasButtons]  to enlarge, for a glove
 * @param {(on: OnPane) => unknown} [props.over]  drawn on top
 */
export function Pane({
  label, words, isDivided = false, layers, outlines, view, onView, bounds, pictures, hasScale, onLoad, aim, onKey, hasButtons = false, over,
}) {
  const element = useRef(/** @type {HTMLElement | null} */ (null));
  const [size, setSize] = useState(/** @type {Size | null} */ (null));
  const [lost, setLost] = useState(/** @type {string[]} */ ([]));
  const [coming, setComing] = useState(/** @type {Set<string>} */ (new Set()));

  const shown = size && (view ?? fitted(bounds, size, aim ? FOOT_PX : 0));
  /** @type {OnPane | null} */
  const on = size && shown && {
    size,
    view: shown,
    toPane: matrixOf(shown, size),
    placeAt: (pixel) => placeAt(shown, size, pixel),
  };
  const heard = useRef(/** @type {import("./gestures.js").Heard | null} */ (null));
  heard.current = on && {
    move: (dx, dy) => onView(moved(latest.current ?? on.view, bounds, dx, dy)),
    zoom: (factor, at) => onView(zoomed(latest.current ?? on.view, on.size, bounds, factor, at)),
    fit: () => onView(null),
    aim: aim && ((stage, at) => aim(stage, on.placeAt(at), on)),
  };
  // Two gestures may come before this is drawn again.
  const latest = useRef(/** @type {View | null} */ (null));
  latest.current = shown;

  useEffect(() => {
    const own = element.current;
    if (!own) return undefined;
    const measured = new ResizeObserver(() => {
      const { clientWidth: width, clientHeight: height } = own;
      if (width && height) setSize({ width, height });
    });
    measured.observe(own);
    const stop = listen(own, () => heard.current ?? { move() {}, zoom() {}, fit() {} });
    return () => {
      measured.disconnect();
      stop();
    };
  }, []);

  const by = (/** @type {number} */ factor) => () =>
    on && onView(zoomed(on.view, on.size, bounds, factor, [on.size.width / 2, on.size.height / 2]));
  const arrived = (/** @type {string} */ id) => (/** @type {Rendition | null} */ rendition) => {
    setLost((before) => [...before.filter((each) => each !== id), ...(rendition ? [] : [id])]);
    setComing((before) => new Set([...before, id]));
    onLoad?.(rendition, id);
  };
  const missing = layers.filter(({ photograph }) => lost.includes(photograph.id));
  const waiting = layers.some(({ photograph }) => !coming.has(photograph.id));

  return html`<div
    ref=${element}
    class=${`sv-pane ${aim ? "aims" : ""}`}
    role="application"
    tabindex="0"
    aria-label=${label}
    onKeyDown=${(/** @type {KeyboardEvent} */ event) => on && onKey?.(event, on)}
  >
    ${on &&
    layers.map(
      (layer) => html`<${Layer}
        key=${layer.photograph.id}
        ...${layer}
        pictures=${pictures}
        view=${on.view}
        pane=${on.size}
        onLoad=${arrived(layer.photograph.id)}
      />`,
    )}
    ${on && html`<${Outlines} outlines=${outlines} toPane=${on.toPane} />`}
    ${words.length > 0 &&
    html`<p class=${`sv-words ${isDivided ? "divided" : ""}`}>${words.map((line) => html`<span key=${line}>${line}</span>`)}</p>`}
    ${missing.length > 0
      ? html`<p class="sv-missing" role="status">
          ${missing.map(({ photograph }) => photograph.name).join(" and ")}: there is no picture to
          show here now.
        </p>`
      : waiting && html`<p class="sv-missing" role="status">The photograph is coming…</p>`}
    ${on && hasScale && html`<${ScaleBar} scale=${on.view.scale} />`}
    ${on && over?.(on)}
    ${on &&
    hasButtons &&
    html`<div class=${`sv-zoom ${aim ? "level" : ""}`}>
      <button type="button" aria-label="Larger" onClick=${by(KEY_ZOOM)}>+</button>
      <button type="button" aria-label="Smaller" onClick=${by(1 / KEY_ZOOM)}>−</button>
      <button type="button" onClick=${() => onView(null)}>Fit</button>
    </div>`}
  </div>`;
}

/** @param {{scale: number}} props  CSS pixels a millimetre */
function ScaleBar({ scale }) {
  const mm = barLength(scale, WIDEST_BAR_PX);
  return html`<p class="sv-scale">
    <span class="sv-bar" style=${{ width: `${mm * scale}px` }}></span>
    <span>${barWords(mm)}</span>
  </p>`;
}

/** Pixels of a photograph to millimetres of the side on show, by way of its own side. */
export function turnedTo(/** @type {Matrix} */ matrix, /** @type {number} */ width_mm) {
  return multiply([-1, 0, width_mm, 0, 1, 0, 0, 0, 1], matrix);
}
