/** A signature's strokes, drawn: in thousandths of the width of the field that was signed. */

import { html } from "../../vendor/ui.js";
import { HEIGHT, pathOf, WIDTH } from "./drawing.js";

/** @import { Strokes } from "./drawing.js" */

/**
 * @param {object} props
 * @param {Strokes} props.strokes
 * @param {string} props.label  whose signature it is
 */
export function Drawn({ strokes, label }) {
  const lowest = Math.max(HEIGHT, ...strokes.flat().map(([, y]) => y));
  return html`<svg class="strokes" viewBox=${`0 0 ${WIDTH} ${lowest}`} role="img" aria-label=${label}>
    ${strokes.map((stroke) => html`<path d=${pathOf(stroke)} />`)}
  </svg>`;
}
