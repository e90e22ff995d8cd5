/** One open question: both values, who gave each and when, and the ways to settle it. */

import { read } from "../../store/clock.js";
import { db, tableOf } from "../../store/database.js";
import { useLive } from "../../store/live.js";
import { usePlaces } from "../../store/locations.js";
import { examinationOf, settle, signedExaminationOf } from "../../store/questions.js";
import { term } from "../../store/vocabulary.js";
import { html, useState } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { TextField } from "../text-field.js";
import { dayAndTime, fieldInWords, upperFirst } from "../wording.js";
import { OtherValue, takesOther } from "./other-value.js";
import { fieldName, valueInWords } from "./values.js";

/** @import { Entity, ExaminationRow, ObjectRow, Question } from "../../store/types.js" */

/** @typedef {{row?: any, signed?: ExaminationRow | null, object?: ObjectRow}} About */

/**
 * @param {object} props
 * @param {Question} props.question
 * @param {boolean} [props.namesObject]  where the screen does not say which object it is about
 * @param {() => void} [props.onSettled]
 */
export function QuestionCard({ question, namesObject = false, onSettled = () => {} }) {
  const { id, entity, entity_id, field, shown, kept } = question;
  const places = usePlaces();
  const { row, signed, object } = useLive(
    async () => ({
      row: /** @type {any} */ (await tableOf(entity).get(entity_id)),
      signed: await signedExaminationOf(entity, entity_id),
      object: await objectOf(entity, entity_id),
    }),
    [id],
    /** @type {About} */ ({}),
  );
  const [reason, setReason] = useState("");
  const [problem, setProblem] = useState("");
  const answer = async (/** @type {Parameters<typeof settle>[1]} */ given) => {
    setProblem("");
    try {
      await settle(id, given, reason);
      onSettled();
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  const words = (/** @type {unknown} */ value) => valueInWords(field, value, row, places.words);

  return html`<section class="question" aria-label=${questionName(question, row)}>
    ${namesObject &&
    object &&
    html`<p class="soft small">${object.accession_number} ${object.title}</p>`}
    <p><strong>${questionName(question, row)}</strong>: two values were given.</p>
    ${signed &&
    html`<p>
        ${signed.signed_name} signed this examination, so what stands now stays in it. Another value
        is kept as an amendment.
      </p>
      <${TextField}
        label="Why it is amended"
        value=${reason}
        fieldKey=${`reason:${id}`}
        onInput=${setReason}
      />`}
    <div class="sides">
      <${Side} title="Stands now" words=${words(shown.value)} side=${shown}>
        <button type="button" class="button" onClick=${() => answer({ choice: "shown" })}>
          Let this stand<span class="visually-hidden">: ${words(shown.value)}</span>
        </button>
      <//>
      <${Side} title="Kept beside it" words=${words(kept.value)} side=${kept}>
        <button type="button" class="button" onClick=${() => answer({ choice: "kept" })}>
          ${signed ? "Add this as an amendment" : "Take this instead"}<span class="visually-hidden"
            >: ${words(kept.value)}</span
          >
        </button>
      <//>
    </div>
    ${takesOther(field) &&
    html`<${OtherValue}
      question=${question}
      row=${row}
      onGive=${(/** @type {unknown} */ value) => answer({ value })}
    />`}
    ${problem && html`<${Notice} kind="problem">${problem}<//>`}
  </section>`;
}

/**
 * @param {object} props
 * @param {string} props.title
 * @param {string} props.words
 * @param {Question["shown"]} props.side
 * @param {import("../../vendor/ui.js").ComponentChildren} [props.children]
 */
function Side({ title, words, side, children }) {
  return html`<div>
    <span class="soft small">${title}</span>
    <strong class="as-written">${words}</strong>
    <span class="soft small">${side.person || "The server"}, ${dayAndTime(read(side.at).ms)}</span>
    ${children}
  </div>`;
}

/** @param {Entity} entity @param {string} id @returns {Promise<ObjectRow | undefined>} */
async function objectOf(entity, id) {
  const key = await examinationOf(entity, id);
  // A stop on a walk names its object itself.
  const of = key ? await db.examinations.get(key) : entity === "stop" && (await db.stops.get(id));
  return of ? db.objects.get(of.object) : undefined;
}

/** "Tear: severity", "Examination: overall grade" */
function questionName(/** @type {Question} */ { entity, field }, /** @type {any} */ row) {
  const record = (row?.term && term(row.term)?.name) || row?.what || upperFirst(fieldInWords(entity));
  return `${record}: ${fieldName(field)}`;
}
