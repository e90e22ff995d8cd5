/** The field that is signed: by finger, pen or mouse. */

import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { HEIGHT, pathOf } from "./strokes.js";

/** @import { Strokes } from "./strokes.js" */

/** As many as the server takes. */
const MOST_STROKES = 500;
const MOST_POINTS = 20_000;
const WIDTH = 1000;

/**
 * @param {object} props
 * @param {Strokes} props.strokes
 * @param {(strokes: Strokes) => void} props.onStrokes  after each stroke
 * @param {string} props.label
 */
export function Pad({ strokes, onStrokes, label }) {
  const field = useRef(/** @type {SVGSVGElement | null} */ (null));
  /** The stroke under way, and whose finger draws it: another one, or the palm, does not. */
  const [stroke, setStroke] = useState(/** @type {[number, number][]} */ ([]));
  const pointer = useRef(/** @type {number | null} */ (null));
  const latest = useRef({ strokes, onStrokes, stroke });
  latest.current = { strokes, onStrokes, stroke };
  const isFull = strokes.length >= MOST_STROKES || strokes.flat().length >= MOST_POINTS;

  const finish = () => {
    const drawn = latest.current;
    pointer.current = null;
    setStroke([]);
    if (drawn.stroke.length) drawn.onStrokes([...drawn.strokes, drawn.stroke]);
  };
  const extend = (/** @type {PointerEvent} */ event) => {
    const box = /** @type {SVGSVGElement} */ (field.current).getBoundingClientRect();
    const passed = event.getCoalescedEvents?.() ?? [];
    const room = MOST_POINTS - latest.current.strokes.flat().length;
    const points = (passed.length ? passed : [event]).map((each) => placeIn(box, each));
    const grown = [...latest.current.stroke];
    for (const at of points) {
      const last = grown.at(-1);
      if (grown.length < room && !(last && last[0] === at[0] && last[1] === at[1])) grown.push(at);
    }
    latest.current.stroke = grown;
    setStroke(grown);
  };

  useEffect(() => {
    const element = /** @type {SVGSVGElement} */ (field.current);
    const stop = new AbortController();
    const listen = (/** @type {string} */ name, /** @type {(event: PointerEvent) => void} */ heard) =>
      element.addEventListener(name, /** @type {EventListener} */ (heard), { signal: stop.signal });
    listen("pointerdown", (event) => {
      if (pointer.current !== null || event.button !== 0) return;
      if (latest.current.strokes.length >= MOST_STROKES) return;
      event.preventDefault();
      pointer.current = event.pointerId;
      element.setPointerCapture(event.pointerId);
      extend(event);
    });
    listen("pointermove", (event) => {
      if (event.pointerId === pointer.current) extend(event);
    });
    for (const name of ["pointerup", "pointercancel"]) {
      listen(name, (event) => {
        if (event.pointerId === pointer.current) finish();
      });
    }
    return () => stop.abort();
  }, []);

  return html`<div class="pad">
    <svg
      ref=${field}
      class="strokes"
      viewBox=${`0 0 ${WIDTH} ${HEIGHT}`}
      role="img"
      aria-label=${`${label}: ${strokes.length ? "signed" : "empty"}`}
    >
      <path class="pad-line" d=${`M60 ${HEIGHT - 90}h${WIDTH - 120}`} />
      ${[...strokes, stroke].filter((each) => each.length).map((each) => html`<path d=${pathOf(each)} />`)}
    </svg>
    ${strokes.length === 0 && stroke.length === 0 && html`<p class="pad-hint" aria-hidden="true">Sign here</p>`}
    ${isFull && html`<p class="field-error" role="alert">The field is full. Clear it, and sign again.</p>`}
  </div>`;
}

/** @param {DOMRect} box @param {{clientX: number, clientY: number}} event @returns {[number, number]} */
function placeIn({ left, top, width }, { clientX, clientY }) {
  const share = (/** @type {number} */ pixels, /** @type {number} */ most) =>
    Math.round(Math.min(most, Math.max(0, (WIDTH * pixels) / width)));
  return [share(clientX - left, WIDTH), share(clientY - top, HEIGHT)];
}
