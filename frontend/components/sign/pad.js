/** The field that is signed: by finger, pen or mouse. */

import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { followHand, HEIGHT, MOST_POINTS, MOST_STROKES, pathOf, WIDTH } from "./drawing.js";

/** @import { Stroke, Strokes } from "./drawing.js" */

/**
 * @param {object} props
 * @param {Strokes} props.strokes
 * @param {(strokes: Strokes) => void} props.onStrokes  after each stroke
 * @param {string} props.label
 */
export function Pad({ strokes, onStrokes, label }) {
  const field = useRef(/** @type {SVGSVGElement | null} */ (null));
  const [stroke, setStroke] = useState(/** @type {Stroke} */ ([]));
  const latest = useRef({ strokes, onStrokes });
  latest.current = { strokes, onStrokes };
  const isFull = strokes.length >= MOST_STROKES || strokes.flat().length >= MOST_POINTS;

  useEffect(() => {
    const stop = new AbortController();
    const on = {
      before: () => latest.current.strokes,
      grown: setStroke,
      drawn: (/** @type {Stroke} */ done) => latest.current.onStrokes([...latest.current.strokes, done]),
    };
    followHand(/** @type {SVGSVGElement} */ (field.current), on, stop.signal);
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
