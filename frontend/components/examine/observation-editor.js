/** Everything that can be said of one observation, open in place below its row. */

import { hazard, term as termOf } from "../../store/vocabulary.js";
import { Fragment, html } from "../../vendor/ui.js";
import { Caution } from "../caution.js";
import { Choice } from "../choice.js";
import { Notice } from "../notice.js";
import { TextField } from "../text-field.js";
import { lowerFirst, optionsOf } from "../wording.js";
import { LightsThatShow } from "./lights-that-show.js";
import { MarkPlace } from "./mark-place.js";
import { Measurements } from "./measurements.js";
import { OpenQuestions } from "./open-questions.js";
import { RemoveButton } from "./remove-button.js";
import { SeverityAndExtent } from "./severity-and-extent.js";
import { TermMeaning } from "./term-meaning.js";
import { termName } from "./words.js";

/** @import { ObservationRow } from "../../store/types.js" */

/** @param {{held: import("./held.js").Held, observation: ObservationRow}} props */
export function ObservationEditor({ held, observation }) {
  const term = termOf(observation.term);
  const name = termName(observation);
  const field = (/** @type {string} */ part) => `observation:${observation.id}:${part}`;
  const change = (/** @type {Partial<ObservationRow>} */ fields) =>
    held.change("observation", observation.id, fields);

  return html`<div class="inset observation-editor stack">
    <${OpenQuestions} held=${held} entity="observation" id=${observation.id} />
    ${term && html`<${Risks} term=${term} /><${TermMeaning} term=${term} />`}
    <${Choice}
      label="Damage, or a feature?"
      name=${field("nature")}
      fieldKey=${field("nature")}
      hint=${`A feature came with the making or was added without harm, such as a sound hinge. ${
        term?.may_be_feature ? "This term can be either; leave it undecided if you cannot tell." : ""
      }`}
      options=${optionsOf("nature")}
      value=${observation.nature}
      onChange=${(/** @type {ObservationRow["nature"]} */ nature) =>
        // A feature has no severity: one that was said before must not linger unseen.
        change(nature === "feature" ? { nature, severity: "" } : { nature })}
    />
    <${SeverityAndExtent} observation=${observation} field=${field} onChange=${change} />
    <${Choice}
      label="Side"
      name=${field("side")}
      fieldKey=${field("side")}
      options=${optionsOf("side")}
      value=${observation.side}
      onChange=${(/** @type {ObservationRow["side"]} */ side) =>
        observation.region ? held.turnOver(observation, side) : change({ side })}
    />
    <${LightsThatShow} held=${held} observation=${observation} field=${field("lights")} />
    <${MarkPlace} held=${held} observation=${observation} />
    <${TextField}
      label="Note"
      multiline
      value=${observation.note}
      fieldKey=${field("note")}
      hint="Where, how it looks, what it may come from."
      onInput=${(/** @type {string} */ note) => change({ note })}
    />
    <${Measurements} held=${held} observation=${observation} />
    ${held.measurements.value
      .filter((measurement) => measurement.observation === observation.id)
      .map(({ id }) => html`<${OpenQuestions} key=${id} held=${held} entity="measurement" id=${id} />`)}
    <${RemoveButton}
      label=${`Remove ${lowerFirst(name)}`}
      question=${`Remove ${lowerFirst(name)} with its note, mark and measurements?`}
      onRemove=${() => held.takeObservation(observation)}
    />
  </div>`;
}

/** What a term puts at risk, what to do at once, and the cautions for whoever does it. */
function Risks(/** @type {{term: import("../../store/types.js").Term}} */ { term }) {
  const hazards = term.hazards.map(hazard).filter((found) => found !== undefined);
  const cautions = new Set([term.caution, ...hazards.map((found) => found.caution)]);
  return html`<${Fragment}>
    ${hazards.map(
      (found) => html`<${Notice} kind="problem" key=${found.code}>
        <p><strong>${found.name}.</strong> ${found.sentence}</p>
        <p>${found.action}</p>
      <//>`,
    )}
    ${[...cautions].map((code) => code && html`<${Caution} key=${code} code=${code} />`)}
  <//>`;
}
