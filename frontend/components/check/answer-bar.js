/** Three big answers where the thumb is, and the way to the points before and after. */

import { html } from "../../vendor/ui.js";
import { named } from "../wording.js";

/** @import { Answer } from "../../store/loans/answers.js" */
/** @import { Point } from "./data.js" */

/** @type {Answer[]} */
const ANSWERS = ["same", "changed", "not-visible"];

/**
 * @param {object} props
 * @param {Point} props.point
 * @param {boolean} props.isLeaving  it is about to be left open
 * @param {(answer: Answer) => void} props.onAnswer
 * @param {string} props.before  address of the point before this one, or of all
 * @param {string} props.after
 * @param {string} props.next  address of the next open point, or of all
 * @param {boolean} props.isLast  no other point is open
 */
export function AnswerBar({ point, isLeaving, onAnswer, before, after, next, isLast }) {
  const given = point.answer?.answer ?? "";
  return html`<footer class="actions answer-bar">
    <div class="answers" role="group" aria-label="How is it now?">
      ${ANSWERS.map(
        (each) => html`<button
          type="button"
          key=${each}
          class="answer"
          data-field=${`answer:${each}`}
          aria-pressed=${given === each}
          onClick=${() => onAnswer(each)}
        >
          <${AnswerShape} answer=${each} />
          ${named("answer", each)}
        </button>`,
      )}
    </div>
    <div class="answer-ways">
      <a class="button" href=${before} aria-label="The point before">‹</a>
      ${point.isSettled
        ? html`<a class="button-next" href=${next}>${isLast ? "All points" : "Next open point"}</a>`
        : html`<button
            type="button"
            class="button"
            aria-pressed=${isLeaving}
            onClick=${() => onAnswer("")}
          >
            Leave it open
          </button>`}
      <a class="button" href=${after} aria-label="The point after">›</a>
    </div>
  </footer>`;
}

/** Each answer has its own shape: two equal lines, a step, a covered eye. */
function AnswerShape(/** @type {{answer: Answer}} */ { answer }) {
  return html`<svg viewBox="0 0 24 24" width="26" height="26" fill="none" stroke="currentColor"
    stroke-width="2.4" stroke-linecap="round" stroke-linejoin="round" aria-hidden="true"
    focusable="false">
    ${answer === "same" && html`<path d="M4 9 H20 M4 15 H20" />`}
    ${answer === "changed" && html`<path d="M4 16 H10 V8 H20 M17 5 L20 8 L17 11" />`}
    ${answer === "not-visible" &&
    html`<path d="M3 12 C6 7 9 6 12 6 S18 7 21 12 C18 17 15 18 12 18 S6 17 3 12 Z M4 20 L20 4" />`}
  </svg>`;
}
