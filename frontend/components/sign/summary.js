/** What is about to be signed, or was, in plain words. */

import { html } from "../../vendor/ui.js";
import { observationInWords, termName } from "../examine/words.js";
import { notedOf } from "../loan/condition-rows.js";
import { answerName, resultOf } from "../loan/words.js";
import { count, lowerFirst } from "../wording.js";

/** @import { WholeCheck } from "../loan/whole-check.js" */

/** @param {{whole: WholeCheck}} props */
export function Summary({ whole }) {
  const { check, loan, points, found, photographs } = whole;
  const told = points.filter(({ answer }) => answer?.answer !== "same");
  return html`<div class="stack">
    <ul class="told">
      ${resultOf(whole).map((sentence) => html`<li key=${sentence}>${sentence}</li>`)}
      <li>${count(photographs.length, "photograph")} taken at this check.</li>
    </ul>
    ${told.length > 0 &&
    html`<h3>Other than before</h3>
      <ul class="told">
        ${told.map(
          (point) => html`<li key=${point.known.id}>
            <strong>${termName(point.known)}: ${lowerFirst(answerName(point))}.</strong>
            ${point.answer?.reason && ` ${point.answer.reason}`}
            <span class="soft small">${observationInWords(point.now ?? point.known)}</span>
          </li>`,
        )}
      </ul>`}
    ${found.length > 0 &&
    html`<h3>${points.length ? "New" : "Seen"}</h3>
      <ul class="told">
        ${found.map(
          (row) => html`<li key=${row.id}>
            <strong>${termName(row)}.</strong>${row.note && ` ${row.note}`}
            <span class="soft small">${observationInWords(row)}</span>
          </li>`,
        )}
      </ul>`}
    <h3>Conditions noted</h3>
    <dl class="facts">
      ${notedOf(check, loan).map(
        ([name, words]) => html`<div key=${name}>
          <dt>${name}</dt>
          <dd>${words}</dd>
        </div>`,
      )}
    </dl>
    ${check.note && html`<p class="as-written">${check.note}</p>`}
  </div>`;
}
