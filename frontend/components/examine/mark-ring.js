/** A numbered ring at a place on a photograph. */

import { html } from "../../vendor/ui.js";

/**
 * @param {object} props
 * @param {import("../../store/types.js").Mark} props.mark
 * @param {number} props.number  of the observation in the list of what was seen
 * @param {boolean} [props.strong]  the one that is being placed
 */
export function MarkRing({ mark, number, strong = false }) {
  return html`<span
    class=${`mark-ring numeral ${strong ? "strong" : ""}`}
    style=${{ left: `${mark.x * 100}%`, top: `${mark.y * 100}%` }}
    data-number=${number}
    role="img"
    aria-label=${`Mark ${number}`}
  ></span>`;
}
