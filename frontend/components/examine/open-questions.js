/** The open questions on some fields of the form, beside those fields. */

import { html } from "../../vendor/ui.js";
import { lazy } from "../lazy.js";

/** @import { Entity } from "../../store/types.js" */

const QuestionCard = lazy(async () => (await import("../questions/question-card.js")).QuestionCard);

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {Entity} props.entity
 * @param {string} [props.id]  of the record; the examination when it is left out
 * @param {string[]} [props.fields]  all when it is left out
 */
export function OpenQuestions({ held, entity, id = held.id, fields }) {
  return held.questions.value
    .filter(
      (question) =>
        question.entity === entity &&
        question.entity_id === id &&
        (!fields || fields.includes(question.field)),
    )
    .map((question) => html`<${QuestionCard} key=${question.id} question=${question} />`);
}
