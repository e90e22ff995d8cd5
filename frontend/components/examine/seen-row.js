/** One observation in a list; a tap opens its editor in place. */

import { html } from "../../vendor/ui.js";
import { lazy } from "../lazy.js";
import { observationInWords, termName } from "./words.js";

export const ObservationEditor = lazy(
  async () => (await import("./observation-editor.js")).ObservationEditor,
);

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {import("../../store/types.js").ObservationRow} props.observation
 * @param {number} props.number  as on its ring
 * @param {string} props.where  the list it stands in: the same observation shows in several
 */
export function SeenRow({ held, observation, number, where }) {
  const { view } = held;
  const key = `${where}/${observation.id}`;
  const isAsked = held.questions.value.some(({ entity_id }) => entity_id === observation.id);
  const open = view.observation.value === key;
  return html`<li>
    <button
      type="button"
      class="row-link seen-row"
      aria-expanded=${open}
      data-field=${`${where}:${observation.id}`}
      onClick=${() => (view.observation.value = open ? null : key)}
    >
      <span class="ring-number numeral">${number}</span>
      <span class="grow">
        <span class="row-name">${termName(observation)}</span>
        <span class="soft small">${observationInWords(observation)}</span>
      </span>
      ${isAsked && html`<span class="tag open">Two values given</span>`}
      <span class="soft small">${open ? "Close" : "Open"}</span>
    </button>
    ${open && html`<${ObservationEditor} held=${held} observation=${observation} />`}
  </li>`;
}
