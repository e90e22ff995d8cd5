/** The overall grade, and what should be done. */

import { vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { OpenQuestions } from "./open-questions.js";
import { Recommendations } from "./recommendations.js";
import { Section } from "./section.js";

/** @param {{held: import("./held.js").Held}} props */
export function WorkSection({ held }) {
  const examination = held.examination.value;
  if (!examination) return null;
  return html`<${Section} id="work" title="Grade and work">
    <${Choice}
      label="Overall state"
      name="grade"
      fieldKey="examination:grade"
      shape="list"
      options=${vocabulary.value.grades.map(({ code, name, definition }) => ({
        value: code,
        label: name,
        hint: definition,
      }))}
      value=${examination.grade}
      onChange=${(/** @type {string} */ grade) => held.changeExamination({ grade })}
    />
    <${OpenQuestions} held=${held} entity="examination" fields=${["grade"]} />
    <${Recommendations} held=${held} />
  <//>`;
}
