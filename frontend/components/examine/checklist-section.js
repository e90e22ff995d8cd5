/** The condition of the sheet: what was seen, the statement that nothing was, and the terms. */

import { html } from "../../vendor/ui.js";
import { NothingSeen } from "./nothing-seen.js";
import { OpenQuestions } from "./open-questions.js";
import { Section } from "./section.js";
import { SeenRow } from "./seen-row.js";
import { TermList } from "./term-list.js";

/** @param {{held: import("./held.js").Held}} props */
export function ChecklistSection({ held }) {
  return html`<${Section} id="condition" title="Condition">
    <${SeenHere} held=${held} />
    <${OpenQuestions} held=${held} entity="examination" fields=${["nothing_seen"]} />
    <${NothingSeen} held=${held} />
    <${TermList} held=${held} />
  <//>`;
}

function SeenHere(/** @type {{held: import("./held.js").Held}} */ { held }) {
  const seen = held.observations.value;
  if (seen.length === 0) return null;
  return html`<div>
    <h3 class="list-name">Seen here</h3>
    <ol class="rows seen-rows">
      ${seen.map(
        (observation, i) => html`<${SeenRow}
          key=${observation.id}
          held=${held}
          observation=${observation}
          number=${i + 1}
          where="seen"
        />`,
      )}
    </ol>
  </div>`;
}
