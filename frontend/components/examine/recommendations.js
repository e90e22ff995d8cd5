/** What the examiner thinks should be done: kinds of work, hours, hazards. */

import { hazard, kindOfWork, term, vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { TextField } from "../text-field.js";
import { listed, lowerFirst } from "../wording.js";
import { NumberField } from "./number-field.js";
import { readHours } from "./numbers.js";
import { OpenQuestions } from "./open-questions.js";
import { RemoveButton } from "./remove-button.js";

/** @import { RecommendationRow } from "../../store/types.js" */
/** @import { Held } from "./held.js" */

/** @param {{held: Held}} props */
export function Recommendations({ held }) {
  const recommended = held.recommendations.value;
  const left = vocabulary.value.kinds_of_work.filter(
    ({ code }) => !recommended.some(({ kind_of_work }) => kind_of_work === code),
  );
  return html`<div class="stack">
    <h3>${recommended.length ? "Recommendations" : "What should be done?"}</h3>
    ${recommended.map(
      (recommendation) => html`<${Recommendation}
        key=${recommendation.id}
        held=${held}
        recommendation=${recommendation}
      />`,
    )}
    ${left.length > 0 &&
    html`<div>
      ${recommended.length > 0 && html`<h4>Recommend more work</h4>`}
      <ul class="rows">
        ${left.map(
          ({ code, name, definition }) => html`<li key=${code}>
            <button
              type="button"
              class="row-link"
              data-field=${`recommend:${code}`}
              onClick=${() => held.add("recommendation", { kind_of_work: code })}
            >
              <span class="grow">
                <span class="row-name">${name}</span>
                <span class="soft small">${definition}</span>
              </span>
              <span class="soft small">Add</span>
            </button>
          </li>`,
        )}
      </ul>
    </div>`}
  </div>`;
}

/** @param {{held: Held, recommendation: RecommendationRow}} props */
function Recommendation({ held, recommendation }) {
  const { id } = recommendation;
  const kind = kindOfWork(recommendation.kind_of_work);
  const name = kind?.name ?? recommendation.kind_of_work;
  const field = (/** @type {string} */ part) => `recommendation:${id}:${part}`;
  const change = (/** @type {Partial<RecommendationRow>} */ fields) =>
    held.change("recommendation", id, fields);
  const raised = raisedByTerms(held);

  return html`<section class="inset stack" aria-label=${name}>
    <div>
      <h4 class="list-name">${name}</h4>
      <p class="soft small">${kind?.definition}</p>
    </div>
    <${NumberField}
      held=${held}
      label="Hours of work"
      unit="hours"
      fieldKey=${field("hours")}
      value=${recommendation.hours}
      read=${readHours}
      hint="Your estimate. Leave it empty if you cannot say."
      onValue=${(/** @type {number | null} */ hours) => change({ hours })}
    />
    <${Choice}
      label="Hazards to tell of"
      name=${field("hazards")}
      fieldKey=${field("hazards")}
      multiple
      hint=${raised.length ? `The checklist already raises ${listed(raised)}.` : ""}
      options=${vocabulary.value.hazards.map(({ code, name: label }) => ({ value: code, label }))}
      value=${recommendation.hazards}
      onChange=${(/** @type {string[]} */ hazards) => change({ hazards })}
    />
    ${recommendation.hazards.map((code) => {
      const found = hazard(code);
      return found && html`<p key=${code}><strong>${found.name}.</strong> ${found.action}</p>`;
    })}
    <${TextField}
      label="Note on the work"
      multiline
      value=${recommendation.note}
      fieldKey=${field("note")}
      onInput=${(/** @type {string} */ note) => change({ note })}
    />
    <${OpenQuestions} held=${held} entity="recommendation" id=${id} />
    <${RemoveButton}
      label=${`Remove ${lowerFirst(name)}`}
      question=${`Remove the recommendation ${lowerFirst(name)}, with its hours and note?`}
      onRemove=${() => {
        held.draft(field("hours"), null);
        held.take("recommendation", id);
      }}
    />
  </section>`;
}

/** Names of the hazards that the ticked terms raise by themselves. */
function raisedByTerms(/** @type {Held} */ held) {
  const codes = new Set(
    held.observations.value
      .filter(({ nature }) => nature !== "feature")
      .flatMap((observation) => term(observation.term)?.hazards ?? []),
  );
  return [...codes].map((code) => lowerFirst(hazard(code)?.name ?? code));
}
