/** What was measured on one photograph, to read and to take away. */

import { html } from "../../../vendor/ui.js";
import { lowerFirst } from "../../wording.js";
import { inWords } from "../figures.js";
import { RemoveButton } from "../remove-button.js";
import { termName } from "../words.js";

/** @param {{held: import("../held.js").Held, photograph: import("../../../store/types.js").PhotographRow}} props */
export function Measured({ held, photograph }) {
  const taken = held.measurements.value.filter((each) => each.photograph === photograph.id);
  if (taken.length === 0) return null;
  const of = (/** @type {string | null} */ id) => {
    const at = held.observations.value.findIndex((each) => each.id === id);
    return at < 0 ? "of the sheet" : `of ${at + 1}, ${lowerFirst(termName(held.observations.value[at]))}`;
  };
  return html`<ul class="measurements" aria-label="Measured on this photograph">
    ${taken.map(
      (each) => html`<li key=${each.id}>
        <span class="numeral">${inWords(each)} <span class="soft small">${of(each.observation)}</span></span>
        <${RemoveButton}
          label="Remove"
          question=${`Remove “${each.what}”?`}
          onRemove=${() => held.take("measurement", each.id)}
        />
      </li>`,
    )}
  </ul>`;
}
