/** A caution of the vocabulary, shown at the step where it matters. */

import { caution } from "../store/vocabulary.js";
import { html } from "../vendor/ui.js";
import { lowerFirst } from "./wording.js";

/** @param {{code: string}} props  code of the caution; draws nothing if it is not carried */
export function Caution({ code }) {
  const found = caution(code);
  if (!found) return null;
  return html`<div class="caution" role="note">
    <p class="caution-name"><${WarningShape} /> Caution: ${lowerFirst(found.name)}</p>
    <ul>
      ${found.text.map((/** @type {string} */ sentence) => html`<li>${sentence}</li>`)}
    </ul>
    <p class="caution-defer">${found.defer}</p>
  </div>`;
}

/** A triangle with a stroke in it, for whatever must not be overlooked. */
export function WarningShape() {
  return html`<svg class="warning-shape" viewBox="0 0 24 24" width="24" height="24" fill="none"
    stroke="currentColor" stroke-width="2" stroke-linejoin="round" stroke-linecap="round"
    aria-hidden="true" focusable="false">
    <path d="M12 3 L22 21 H2 Z" />
    <path d="M12 10 V15 M12 18 V18.2" />
  </svg>`;
}
