/** The statement that the sheet was looked at and no damage was seen. Never a default. */

import { light, vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { Notice } from "../notice.js";
import { count, listed, lowerFirst } from "../wording.js";
import { contradicts } from "./progress.js";

/** @param {{held: import("./held.js").Held}} props */
export function NothingSeen({ held }) {
  const examination = held.examination.value;
  const observations = held.observations.value;
  if (!examination) return null;
  const damage = observations.filter(({ nature }) => nature !== "feature").length;
  const say = (/** @type {boolean} */ nothing_seen) => held.changeExamination({ nothing_seen });

  if (contradicts({ examination, observations })) {
    return html`<${Notice} kind="problem">
      <p>
        You said that nothing was seen, and ${count(damage, "observation")} of damage, or not yet
        decided, ${damage === 1 ? "is" : "are"} recorded. Both cannot stand in a signed examination.
      </p>
      <button type="button" class="button" onClick=${() => say(false)}>
        Take back “nothing seen”
      </button>
      <p>Or open what was seen, and remove it or call it a feature.</p>
    <//>`;
  }
  // Beside damage the statement cannot be true, so it is not offered.
  if (damage > 0) return null;
  return html`<${Choice}
    label="Nothing seen"
    name="nothing-seen"
    fieldKey="nothing-seen"
    multiple
    hideLabel
    shape="list"
    options=${[{ value: "said", label: "Nothing seen", hint: statement(held) }]}
    value=${examination.nothing_seen ? ["said"] : []}
    onChange=${(/** @type {string[]} */ said) => say(said.length > 0)}
  />`;
}

/** "I looked under normal light and raking light, and saw no damage." */
function statement(/** @type {import("./held.js").Held} */ held) {
  const shot = new Set(held.photographs.value.map((photograph) => photograph.light));
  const names = vocabulary.value.lights
    .filter(({ code }) => shot.has(code))
    .map(({ code }) => lowerFirst(light(code)?.name ?? code));
  return names.length
    ? `I looked at this sheet, photographed it under ${listed(names)}, and saw no damage.`
    : "I looked at this sheet and saw no damage. It is not photographed yet.";
}
