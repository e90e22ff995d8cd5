/** What is about to be signed, or was, in plain words. */

import { html } from "../../vendor/ui.js";
import { conditionsOf } from "../loans/conditions.js";
import { factsOf, nameOf, tally } from "../loans/words.js";
import { count, named } from "../wording.js";

/** @import { Point, WholeCheck } from "../../store/loans/read-check.js" */

/** @param {{whole: WholeCheck}} props */
export function Summary({ whole }) {
  const { check, loan, loaned, points, fresh, examination, photographs } = whole;
  const outside = conditionsOf(check, loan, loaned).filter(
    ({ verdict }) => verdict === "Outside what was agreed",
  );
  const told = points.filter(({ answer }) => answer && answer.answer !== "same");
  return html`<div class="stack">
    ${check.earlier && html`<p>${tally(points)}</p>`}
    ${told.length > 0 &&
    html`<ul class="told">
      ${told.map((point) => html`<${Told} key=${point.observation.id} point=${point} />`)}
    </ul>`}
    <p>${findings(whole)}</p>
    ${fresh.length > 0 &&
    html`<ul class="told">
      ${fresh.map(
        (row) => html`<li key=${row.id}>
          <strong>${nameOf(row)}</strong>, ${factsOf(row)}${row.note && `. ${row.note}`}
        </li>`,
      )}
    </ul>`}
    ${fresh.length === 0 &&
    examination.nothing_seen &&
    html`<p>It is said outright that no damage was seen.</p>`}
    <p>${count(photographs.length, "photograph")} taken at this check.</p>
    ${outside.length > 0
      ? html`<p>Outside what was agreed:</p>
          <ul class="told">
            ${outside.map(
              ({ name, found, agreed }) => html`<li key=${name}>
                <strong>${name}</strong>: ${found}; agreed: ${agreed.toLowerCase()}
              </li>`,
            )}
          </ul>`
      : html`<p>No condition that was noted lies outside what was agreed.</p>`}
    ${check.note && html`<p class="as-written">${check.note}</p>`}
  </div>`;
}

/** @param {WholeCheck} whole */
function findings({ check, fresh }) {
  if (!check.earlier) return `No earlier state was signed. ${count(fresh.length, "observation")} in this one.`;
  return fresh.length ? `${count(fresh.length, "new finding")}:` : "Nothing new was found.";
}

/** @param {{point: Point}} props */
function Told({ point: { observation, answer } }) {
  return html`<li>
    <strong>${nameOf(observation)}</strong>, ${factsOf(observation)}:
    ${` ${named("answer", answer?.answer ?? "").toLowerCase()}`}${answer?.reason && `. ${answer.reason}`}
  </li>`;
}
