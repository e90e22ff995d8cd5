/** The sheet as it lies there: its size, its mount, and whether the verso was seen. */

import { vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Caution } from "../caution.js";
import { Choice } from "../choice.js";
import { TextField } from "../text-field.js";
import { optionsOf, sheetSize } from "../wording.js";
import { Fold } from "./fold.js";
import { Taken } from "./measurements.js";
import { NumberField } from "./number-field.js";
import { readSheetSide, readUncertainty, RULER_UNCERTAINTY_MM } from "./numbers.js";
import { OpenQuestions } from "./open-questions.js";
import { Section } from "./section.js";

/** Words of a mount that mean that there is glazing in front of the sheet. */
const GLAZED = /\b(framed|frame|glazed|glazing|glass|acrylic)\b/i;
const NOT_GLAZED = /\bnot glazed|unglazed\b/i;

/** @param {{held: import("./held.js").Held}} props */
export function SheetSection({ held }) {
  const examination = held.examination.value;
  const object = held.object.value;
  if (!examination) return null;
  const change = (/** @type {Partial<import("../../store/types.js").ExaminationRow>} */ fields) =>
    held.changeExamination(fields);
  const inCatalogue = sheetSize(object?.height_mm, object?.width_mm);
  const mount = `${examination.mount} ${object?.mounts ?? ""}`;

  return html`<${Section} id="sheet" title="Sheet and mount">
    <div>
      <h3>Sheet size</h3>
      <p class="soft small">
        The whole sheet, without its mount.
        ${inCatalogue && ` The catalogue says ${inCatalogue}, height × width.`}
      </p>
      <div class="number-fields">
        <${NumberField}
          held=${held}
          label="Height"
          unit="mm"
          fieldKey="examination:sheet_height_mm"
          value=${examination.sheet_height_mm}
          read=${readSheetSide}
          onValue=${(/** @type {number | null} */ mm) => change({ sheet_height_mm: mm })}
        />
        <${NumberField}
          held=${held}
          label="Width"
          unit="mm"
          fieldKey="examination:sheet_width_mm"
          value=${examination.sheet_width_mm}
          read=${readSheetSide}
          onValue=${(/** @type {number | null} */ mm) => change({ sheet_width_mm: mm })}
        />
        <${NumberField}
          held=${held}
          label="Uncertainty, ±"
          unit="mm"
          fieldKey="examination:sheet_uncertainty_mm"
          value=${examination.sheet_uncertainty_mm}
          read=${readUncertainty}
          onValue=${(/** @type {number | null} */ mm) =>
            change({ sheet_uncertainty_mm: mm ?? RULER_UNCERTAINTY_MM })}
        />
      </div>
    </div>
    <${OpenQuestions}
      held=${held}
      entity="examination"
      fields=${["sheet_height_mm", "sheet_width_mm", "sheet_uncertainty_mm"]}
    />
    <${MeasuredOfSheet} held=${held} />
    <${TextField}
      label="Mount, frame, folder or box"
      value=${examination.mount}
      fieldKey="examination:mount"
      hint=${object?.mounts ? `The catalogue says: ${object.mounts}.` : ""}
      onInput=${(/** @type {string} */ text) => change({ mount: text })}
    />
    <${OpenQuestions} held=${held} entity="examination" fields=${["mount"]} />
    <${MountWords} held=${held} />
    ${GLAZED.test(mount) && !NOT_GLAZED.test(mount) && html`<${Caution} code="glass" />`}
    <${Caution} code="lifting" />
    <${Choice}
      label="Was the verso seen?"
      name="verso-seen"
      fieldKey="examination:verso_seen"
      options=${optionsOf("verso_seen")}
      value=${examination.verso_seen}
      onChange=${(/** @type {import("../../store/types.js").ExaminationRow["verso_seen"]} */ seen) =>
        change({ verso_seen: seen })}
    />
    <${OpenQuestions} held=${held} entity="examination" fields=${["verso_seen"]} />
  <//>`;
}

/** What was measured of the sheet itself on its photographs. @param {{held: import("./held.js").Held}} props */
function MeasuredOfSheet({ held }) {
  const own = held.measurements.value.filter((each) => each.observation === null);
  if (own.length === 0) return null;
  return html`<div>
    <h3>Measured on the photographs</h3>
    <${Taken} held=${held} measurements=${own} />
  </div>`;
}

/** The usual words for mounts; a tap adds one to the field. */
function MountWords(/** @type {{held: import("./held.js").Held}} */ { held }) {
  const mount = held.examination.value?.mount ?? "";
  const said = mount.split(";").map((word) => word.trim());
  return html`<${Fold} name="Usual words for mounts">
    <div class="row">
      ${vocabulary.value.materials.mounts.map(
        ({ code, name }) => html`<button
          key=${code}
          type="button"
          class="button"
          aria-pressed=${said.includes(name)}
          onClick=${() =>
            held.changeExamination({
              mount: (said.includes(name) ? said.filter((word) => word !== name) : [...said, name])
                .filter(Boolean)
                .join("; "),
            })}
        >
          ${name}
        </button>`,
      )}
    </div>
  <//>`;
}
