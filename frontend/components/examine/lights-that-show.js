/** The lights that show an observation on this sheet. Suggested, never filled in unasked. */

import { term, vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { LightFigure } from "../light-figure.js";
import { listed, lowerFirst, upperFirst } from "../wording.js";

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {import("../../store/types.js").ObservationRow} props.observation
 * @param {string} props.field
 */
export function LightsThatShow({ held, observation, field }) {
  const usual = term(observation.term)?.lights ?? [];
  const shot = new Set(held.photographs.value.map((photograph) => photograph.light));
  const lights = vocabulary.value.lights;
  const suggested = lights.filter(({ code }) => usual.includes(code) && shot.has(code));
  const change = (/** @type {string[]} */ codes) =>
    held.change("observation", observation.id, { lights: codes });

  return html`<div>
    <${Choice}
      label="Lights that show it on this sheet"
      name=${field}
      fieldKey=${field}
      multiple
      options=${lights.map(({ code, name }) => ({
        value: code,
        label: name,
        hint: upperFirst(
          [usual.includes(code) && "usual", shot.has(code) && "photographed"]
            .filter(Boolean)
            .join(", "),
        ),
        figure: html`<${LightFigure} light=${code} size=${32} />`,
      }))}
      value=${observation.lights}
      onChange=${change}
    />
    ${observation.lights.length === 0 &&
    suggested.length > 0 &&
    html`<button
      type="button"
      class="button suggestion"
      onClick=${() => change(suggested.map(({ code }) => code))}
    >
      Suggested: tick ${listed(suggested.map(({ name }) => lowerFirst(name)))}
    </button>`}
  </div>`;
}
