/** What is about to be signed, or was, in plain words. */

import { html } from "../../vendor/ui.js";
import { observationInWords, termName } from "../examine/words.js";
import { conditionsOf } from "../loan/condition-rows.js";
import { tally } from "../loan/words.js";
import { count, lowerFirst, named } from "../wording.js";

/** @import { Point } from "../check/data.js" */
/** @import { WholeCheck } from "../loan/whole-check.js" */

/** @param {{whole: WholeCheck}} props */
export function Summary({ whole }) {
  const { check, loan, loaned, points, found, examination, photographs } = whole;
  const outside = conditionsOf(check, loan, loaned).filter(
    ({ verdict }) => verdict === "Outside what was agreed",
  );
  const told = points.filter(({ answer }) => answer && answer.answer !== "same");
  return html`<div class="stack">
    ${check.earlier && html`<p>${tally(points)}</p>`}
    ${told.length > 0 &&
    html`<ul class="told">
      ${told.map((point) => html`<${Told} key=${point.known.id} point=${point} />`)}
    </ul>`}
    <p>${findings(whole)}</p>
    ${found.length > 0 &&
    html`<ul class="told">
      ${found.map(
        (row) => html`<li key=${row.id}>
          <strong>${termName(row)}</strong>, ${lowerFirst(observationInWords(row))}${row.note && `. ${row.note}`}
        </li>`,
      )}
    </ul>`}
    ${found.length === 0 &&
    examination.nothing_seen &&
    html`<p>It is said outright that no damage was seen.</p>`}
    <p>${count(photographs.length, "photograph")} taken at this check.</p>
    ${outside.length > 0
      ? html`<p>Outside what was agreed:</p>
          <ul class="told">
            ${outside.map(
              ({ name, found: noted, agreed }) => html`<li key=${name}>
                <strong>${name}</strong>: ${noted}; agreed: ${agreed.toLowerCase()}
              </li>`,
            )}
          </ul>`
      : html`<p>No condition that was noted lies outside what was agreed.</p>`}
    ${check.note && html`<p class="as-written">${check.note}</p>`}
  </div>`;
}

/** @param {WholeCheck} whole */
function findings({ check, found }) {
  if (!check.earlier) return `No earlier state was signed. ${count(found.length, "observation")} in this one.`;
  return found.length ? `${count(found.length, "new finding")}:` : "Nothing new was found.";
}

/** @param {{point: Point}} props */
function Told({ point: { known, answer } }) {
  return html`<li>
    <strong>${termName(known)}</strong>, ${lowerFirst(observationInWords(known))}:
    ${` ${named("answer", answer?.answer ?? "").toLowerCase()}`}${answer?.reason && `. ${answer.reason}`}
  </li>`;
}
