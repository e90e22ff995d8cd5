/** What only a person can settle, each with the ways to settle it. */

import { Notice } from "../components/notice.js";
import { QuestionCard } from "../components/questions/question-card.js";
import { TextField } from "../components/text-field.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { amendInstead, canBeAmended, discard, retryRefused } from "../store/refused.js";
import { syncNow } from "../sync/engine.js";
import { retryPhotographs } from "../sync/photographs.js";
import { html, useState } from "../vendor/ui.js";

/** @typedef {import("../sync/needs-you.js").Matter} Matter */

/** @param {{matters: Matter[]}} props */
export function NeedsYou({ matters }) {
  return html`<ul class="needs-you">
    ${matters.map((matter) => html`<${OneMatter} key=${matter.kind + matter.id} matter=${matter} />`)}
  </ul>`;
}

function OneMatter(/** @type {{matter: Matter}} */ { matter }) {
  const [problem, setProblem] = useState("");
  const attempt = async (/** @type {() => Promise<unknown>} */ work) => {
    setProblem("");
    try {
      await work();
      syncNow();
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<li>
    ${matter.kind !== "question" && html`<p>${matter.sentence}</p>`}
    ${matter.kind === "question" && html`<${Asked} id=${matter.id} />`}
    ${matter.kind === "refused" && html`<${Refused} id=${matter.id} attempt=${attempt} />`}
    <div class="row">
      ${matter.kind === "photograph" &&
      html`<button type="button" class="button" onClick=${() => attempt(retryPhotographs)}>
        Send it again
      </button>`}
      ${matter.kind === "other-person" && html`<a class="button" href="#/settings">Change who is signed in</a>`}
      ${matter.examination &&
      html`<a class="button" href=${`#/examination/${matter.examination}`}>Look at the record</a>`}
    </div>
    ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
  </li>`;
}

/** @typedef {(work: () => Promise<unknown>) => void} Attempt */

function Asked(/** @type {{id: string}} */ { id }) {
  const question = useLive(() => db.questions.get(id), [id], undefined);
  return question && html`<${QuestionCard} question=${question} namesObject onSettled=${syncNow} />`;
}

function Refused(/** @type {{id: string, attempt: Attempt}} */ { id, attempt }) {
  const change = useLive(() => db.outbox.where({ id }).first(), [id], undefined);
  const [reason, setReason] = useState("");
  const [giving, setGiving] = useState(false);
  if (!change) return null;
  return html`${canBeAmended(change) &&
    html`<${TextField}
        label="To keep it as an amendment, say why"
        value=${reason}
        onInput=${setReason}
      />
      <button
        type="button"
        class="button"
        disabled=${!reason.trim()}
        onClick=${() => attempt(() => amendInstead(id, reason.trim()))}
      >
        Keep it as an amendment
      </button>`}
    <div class="row">
      <button type="button" class="button" onClick=${() => attempt(retryRefused)}>Send it again</button>
      ${giving
        ? html`<button type="button" class="button" onClick=${() => attempt(() => discard(id))}>
            Yes, give up this change
          </button>`
        : html`<button type="button" class="button" onClick=${() => setGiving(true)}>
            Give it up
          </button>`}
    </div>`;
}
