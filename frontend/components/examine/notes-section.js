/** Whatever has no place elsewhere on the form. */

import { html } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";
import { OpenQuestions } from "./open-questions.js";
import { Section } from "./section.js";

/** @param {{held: import("./held.js").Held}} props */
export function NotesSection({ held }) {
  const examination = held.examination.value;
  if (!examination) return null;
  return html`<${Section} id="notes" title="Notes">
    <${TextField}
      label="Whatever has no place above"
      multiline
      value=${examination.notes}
      fieldKey="examination:notes"
      onInput=${(/** @type {string} */ notes) => held.changeExamination({ notes })}
    />
    <${OpenQuestions} held=${held} entity="examination" fields=${["notes"]} />
  <//>`;
}
