/** A signature's strokes, drawn: in thousandths of the width of the field that was signed. */

import { html } from "../../vendor/ui.js";

/** @typedef {[number, number][][]} Strokes */

/** The height of the field, in thousandths of its width. */
export const HEIGHT = 400;

/**
 * @param {object} props
 * @param {Strokes} props.strokes
 * @param {string} props.label  whose signature it is
 */
export function Drawn({ strokes, label }) {
  const lowest = Math.max(HEIGHT, ...strokes.flat().map(([, y]) => y));
  return html`<svg class="strokes" viewBox=${`0 0 1000 ${lowest}`} role="img" aria-label=${label}>
    ${strokes.map((stroke) => html`<path d=${pathOf(stroke)} />`)}
  </svg>`;
}

/** A tap that did not move is a dot. @param {[number, number][]} stroke */
export function pathOf(stroke) {
  const [[x, y], ...others] = stroke;
  return `M${x} ${y}${others.length ? others.map(([px, py]) => `L${px} ${py}`).join("") : "h0"}`;
}
