/** All known points of a check, each with its answer: to look back, and to see what is open. */

import { html } from "../../vendor/ui.js";
import { observationInWords, termName } from "../examine/words.js";
import { named } from "../wording.js";

/** @import { Point } from "./data.js" */

/** @param {{points: Point[], href: (point: Point) => string}} props */
export function PointsList({ points, href }) {
  return html`<ul class="rows">
    ${points.map((point) => {
      const { known, answer, isSettled } = point;
      return html`<li key=${known.id}>
        <a class="row-link" href=${href(point)}>
          <span class="grow">
            <span class="row-name">${termName(known)}</span>
            <span class="soft small">${observationInWords(known)}</span>
            ${answer?.reason && html`<span class="small as-written">${answer.reason}</span>`}
          </span>
          <span class="row-end">
            <span class=${`tag ${isSettled ? "" : "open"}`}>${stateOf(point)}</span>
          </span>
        </a>
      </li>`;
    })}
  </ul>`;
}

/** "Same", "Changed: say what", "Open" @param {Point} point */
function stateOf({ answer, isSettled }) {
  if (!answer?.answer) return isSettled ? named("answer", "") : "Open";
  const words = named("answer", answer.answer);
  if (isSettled) return words;
  return answer.answer === "changed" ? `${words}: say what` : `${words}: say why`;
}
