/** The end of the form: what is still open, then the name and the signature. */

import { session } from "../../store/session.js";
import { create, save } from "../../store/write.js";
import { html, useState } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { TextField } from "../text-field.js";
import { hasMoved, nextStep, openPoints, steps } from "./progress.js";
import { OpenQuestions } from "./open-questions.js";
import { goToSection, Section } from "./section.js";

/** @param {{held: import("./held.js").Held}} props */
export function SignSection({ held }) {
  const [refusal, setRefusal] = useState("");
  const [signing, setSigning] = useState(false);
  const recorded = held.recorded.value;
  const { examination } = recorded;
  const points = openPoints(recorded);
  const blocked = points.some((point) => point.blocks);
  // Shown from the session until the person writes another; kept like every other field.
  const name = examination.signed_name || (session.value?.person.name ?? "");
  const isNext = nextStep(steps(recorded)).id === "sign";

  const sign = async () => {
    if (blocked) return setRefusal("First see to the points marked “must be settled”.");
    if (!name.trim()) return setRefusal("Write your name, then sign.");
    setRefusal("");
    setSigning(true);
    try {
      // The screen sees the signature and goes on to the signed examination.
      await signExamination(held, name.trim());
    } catch (error) {
      setRefusal(error instanceof Error ? error.message : String(error));
    } finally {
      setSigning(false);
    }
  };

  return html`<${Section} id="sign" title="Sign">
    ${points.length === 0
      ? html`<p>Nothing is left open.</p>`
      : html`<ul class="rows open-points">
          ${points.map(
            ({ section, blocks, sentence }) => html`<li key=${sentence}>
              <button type="button" class="row-link" onClick=${() => goToSection(section)}>
                <span class="grow">${sentence}</span>
                <span class=${`tag ${blocks ? "alarm" : "open"}`}>
                  ${blocks ? "Must be settled" : "May stay open"}
                </span>
              </button>
            </li>`,
          )}
        </ul>`}
    <${OpenQuestions} held=${held} entity="examination" fields=${["signed_at", "signed_name"]} />
    <p class="soft">
      Signing fixes the examination with your name and the time. What is found later is added as
      an amendment, and both are shown.
      ${hasMoved(examination, held.object.value) && " Signing also records the object’s move."}
    </p>
    <${TextField}
      label="Name"
      value=${name}
      fieldKey="examination:signed_name"
      autocomplete="name"
      onInput=${(/** @type {string} */ text) => held.changeExamination({ signed_name: text })}
    />
    ${refusal && html`<${Notice} kind="problem"><p>${refusal}</p><//>`}
    <button
      type="button"
      class=${isNext ? "button-next sign-button" : "button big sign-button"}
      data-field="sign"
      disabled=${signing}
      onClick=${sign}
    >
      Sign and finish
    </button>
  <//>`;
}

/**
 * Records the move if there was one, then the signature.
 *
 * @param {import("./held.js").Held} held
 * @param {string} name
 * @throws {Error} with a sentence when it could not be written
 */
async function signExamination(held, name) {
  const { examination } = held.recorded.value;
  const object = held.object.value;
  if (!(await held.settled())) throw new Error(held.problem.value ?? "");
  if (object && hasMoved(examination, object)) {
    await create("move", {
      object: object.id,
      from_location: object.location,
      from_place: object.off_site_place,
      to_location: examination.location,
      to_place: examination.place,
      note: "Found here on examination.",
    });
  }
  await save("examination", held.id, {
    signed_name: name,
    signed_at: new Date().toISOString(),
  });
  await held.forgetDrafts();
}
