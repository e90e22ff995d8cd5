/** What a term means, the lights that usually show it, and where the definition comes from. */

import { light } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { listed, lowerFirst } from "../wording.js";

/** @param {{term: import("../../store/types.js").Term}} props */
export function TermMeaning({ term }) {
  const lights = term.lights.map((code) => lowerFirst(light(code)?.name ?? code));
  return html`<div class="term-meaning">
    <p>${term.definition}</p>
    ${lights.length > 0 && html`<p>Usually shows in ${listed(lights)}.</p>`}
    ${term.may_be_feature &&
    html`<p>It can be a feature of making and not damage: the examiner says which.</p>`}
    <p class="soft small">Source: ${term.source}</p>
  </div>`;
}
