/** Photographs by light: the side that faces up, then one slot a light. */

import { vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Caution } from "../caution.js";
import { Choice } from "../choice.js";
import { optionsOf } from "../wording.js";
import { Fold } from "./fold.js";
import { LightSlot } from "./light-slot.js";
import { OpenQuestions } from "./open-questions.js";
import { Section } from "./section.js";

/** @param {{held: import("./held.js").Held}} props */
export function PhotographsSection({ held }) {
  const side = held.view.side;
  const lights = [...vocabulary.value.lights].sort((a, b) => a.order - b.order);
  return html`<${Section} id="photographs" title="Photographs by light">
    <${Choice}
      label="The side that faces you"
      name="side-up"
      fieldKey="side-up"
      options=${optionsOf("side")}
      value=${side.value}
      onChange=${(/** @type {import("../../store/types.js").Side} */ picked) => (side.value = picked)}
    />
    ${side.value === "verso" &&
    html`<${Fold} name="Caution: lifting or turning the sheet">
      <${Caution} code="lifting" />
      <${Caution} code="handling" />
    <//>`}
    ${held.photographs.value.map(
      ({ id }) => html`<${OpenQuestions} key=${id} held=${held} entity="photograph" id=${id} />`,
    )}
    ${held.photographs.value.length > 0 &&
    html`<button
      type="button"
      class="button compare-button"
      data-field="compare"
      onClick=${() => (held.view.comparing.value = true)}
    >
      ${held.photographs.value.length > 1 ? "Look at the lights together" : "Look at the photograph"}
    </button>`}
    <ol class="light-slots">
      ${lights.map(
        (light) => html`<${LightSlot} key=${light.code} held=${held} light=${light} />`,
      )}
    </ol>
  <//>`;
}
