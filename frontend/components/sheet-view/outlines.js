/**
 * The places of what was seen, drawn over a photograph: damage in a full line with its number in a
 * disc, a feature dashed with its number in a square, what is not decided dotted.
 */

import { apply } from "../../imaging/geometry.js";
import { html } from "../../vendor/ui.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */

/**
 * points  one is a ring about a place; more are an outline, or a line when it is `open`
 * @typedef {object} Outline
 * @property {string} id
 * @property {string} number  on its mark; "" for none
 * @property {string} name
 * @property {string} [label]  written beside it
 * @property {"damage" | "feature" | "unsure" | "measured"} nature
 * @property {Point[]} points  in mm, as seen from the side on show
 * @property {boolean} [open]
 * @property {boolean} [strong]  the one that is in hand
 */

const RING_PX = 16;
const MARK_PX = 12;

/** @param {{outlines: Outline[], toPane: Matrix}} props  mm to CSS pixels of the pane */
export function Outlines({ outlines, toPane }) {
  return html`<svg class="sv-outlines" aria-hidden="true">
    ${outlines.map((outline) => {
      const points = outline.points.map((point) => apply(toPane, point));
      if (points.length === 0) return null;
      const line =
        points.length === 1
          ? ringAbout(points[0])
          : `M${points.map((point) => point.map(rounded).join(" ")).join("L")}${outline.open ? "" : "Z"}`;
      const [x, y] = points.reduce((top, point) => (point[1] < top[1] ? point : top));
      return html`<g
        key=${outline.id}
        class=${`sv-outline ${outline.nature} ${outline.strong ? "strong" : ""}`}
      >
        <path class="sv-halo" d=${line} />
        <path class="sv-line" d=${line} />
        ${outline.number &&
        html`<g transform=${`translate(${rounded(x)} ${rounded(y - (points.length === 1 ? RING_PX : 0))})`}>
          <${Mark} nature=${outline.nature} />
          <text y="5">${outline.number}</text>
        </g>`}
        ${outline.label &&
        html`<text class="sv-label" x=${rounded(mean(points, 0))} y=${rounded(mean(points, 1) - 8)}>
          ${outline.label}
        </text>`}
      </g>`;
    })}
  </svg>`;
}

/** The shape about a number. @param {{nature: Outline["nature"]}} props */
export function Mark({ nature }) {
  const r = MARK_PX;
  if (nature === "damage") return html`<circle class="sv-mark" r=${r} />`;
  if (nature === "unsure") {
    const d = r + 4;
    return html`<path class="sv-mark" d=${`M0 ${-d}L${d} 0L0 ${d}L${-d} 0Z`} />`;
  }
  return html`<rect class="sv-mark" x=${-r} y=${-r} width=${2 * r} height=${2 * r} />`;
}

function ringAbout(/** @type {Point} */ [x, y]) {
  const r = RING_PX;
  return `M${rounded(x - r)} ${rounded(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
}

function mean(/** @type {Point[]} */ points, /** @type {0 | 1} */ axis) {
  return points.reduce((sum, point) => sum + point[axis], 0) / points.length;
}

function rounded(/** @type {number} */ value) {
  return Math.round(value * 10) / 10;
}
