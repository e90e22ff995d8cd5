/** A light drawn as what it is: a sheet in cross-section, and where the light comes from. */

import { html } from "../vendor/ui.js";

/** An arrow whose tip stands at (x, y), coming from `bearing` degrees clockwise from above. */
function Arrow(
  /** @type {{x: number, y: number, bearing: number, length: number, dashed?: boolean}} */ {
    x,
    y,
    bearing,
    length,
    dashed = false,
  },
) {
  return html`<g transform=${`translate(${x} ${y}) rotate(${bearing})`}>
    <path d=${`M0 ${-length} V-2`} stroke-dasharray=${dashed ? "3 3" : null} />
    <path d="M-4.2 -7 L0 -1 L4.2 -7" />
  </g>`;
}

/** A flat sheet seen from its edge. */
const flatSheet = html`<path d="M4 33 H44" stroke-width="4" />`;

/** The same sheet with a ridge, and the shadow that the ridge throws. */
const ridgedSheet = html`<path d="M4 33 H19 Q24 33 26 25 Q28 33 33 33 H44" stroke-width="4" />
  <path d="M31 40 H44" stroke-width="3" stroke-dasharray="2 4" />`;

/** @type {Record<string, unknown>} */
const figures = {
  normal: html`${flatSheet}
    <${Arrow} x=${19} y=${28} bearing=${-40} length=${22} />
    <${Arrow} x=${29} y=${28} bearing=${40} length=${22} />`,
  raking: html`${ridgedSheet} <${Arrow} x=${21} y=${24} bearing=${-78} length=${19} />`,
  transmitted: html`<path d="M4 25 H44" stroke-width="4" />
    <${Arrow} x=${24} y=${29} bearing=${180} length=${16} />
    <path d="M24 21 V4" stroke-dasharray="3 3" />
    <path d="M15 20 L12 9 M33 20 L36 9" stroke-dasharray="3 3" />`,
  specular: html`${flatSheet}
    <${Arrow} x=${23} y=${30} bearing=${-42} length=${27} />
    <path d="M25 29 L37 15.5" />
    <circle cx="40" cy="12" r="4.5" />
    <circle cx="40" cy="12" r="1" fill="currentColor" />`,
  ultraviolet: html`${flatSheet}
    <path d="M24 3 q-4 3 0 6 t0 6 t0 6 V28" />
    <path d="M19.8 23 L24 29 L28.2 23" />
    <path d="M8 27 L5 20 M14 26 L12.5 18 M34 26 L35.5 18 M40 27 L43 20" stroke-width="2" />`,
};

/** The sheet from above, its top edge up, and the arrow arriving from the azimuth. */
function PlanView(/** @type {{azimuth: number}} */ { azimuth }) {
  return html`<g transform="translate(48 0)">
    <rect x="16.5" y="14" width="15" height="20" />
    <path d="M20 18 H28" stroke-width="1.5" />
    <g transform=${`rotate(${azimuth} 24 24)`}>
      <path d="M24 2 V11" />
      <path d="M20 7.5 L24 12 L28 7.5" />
    </g>
  </g>`;
}

/**
 * The figure of one light, in the colour of the text round it. It is decoration beside the
 * light's name and is not read out.
 *
 * @param {object} props
 * @param {string} props.light  code of the light
 * @param {number | null} [props.azimuth]  raking only: degrees clockwise from the sheet's top
 *   edge; adds a plan view, which doubles the figure's width
 * @param {number} [props.size]  height in CSS px
 */
export function LightFigure({ light, azimuth = null, size = 48 }) {
  const withPlan = light === "raking" && azimuth !== null;
  return html`<svg
    class="light-figure"
    viewBox=${withPlan ? "0 0 96 48" : "0 0 48 48"}
    width=${withPlan ? size * 2 : size}
    height=${size}
    fill="none"
    stroke="currentColor"
    stroke-width="2.5"
    stroke-linecap="round"
    stroke-linejoin="round"
    aria-hidden="true"
    focusable="false"
  >
    ${figures[light]} ${withPlan && html`<${PlanView} azimuth=${azimuth} />`}
  </svg>`;
}
