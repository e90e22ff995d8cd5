/** Watermarks and countermarks: what is seen of each, its measures, its match in a repertory. */

import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { Notice } from "../notice.js";
import { TextField } from "../text-field.js";
import { watermarkName } from "../watermark-words.js";
import { named, optionsOf } from "../wording.js";
import { Fold } from "./fold.js";
import { NumberField } from "./number-field.js";
import {
  inFigures,
  readChainLines,
  readDistance,
  readLength,
  readUncertainty,
  readYear,
} from "./numbers.js";
import { OpenQuestions } from "./open-questions.js";
import { RemoveButton } from "./remove-button.js";

/** @import { WatermarkRow } from "../../store/types.js" */
/** @import { Held } from "./held.js" */
/** @import { Reading } from "./numbers.js" */

/**
 * Usual motifs in plain words, for a start: they follow the main groups of the registration
 * standard of the International Association of Paper Historians (IPH 2.1.1, 2013), from memory.
 */
const MOTIFS = [
  "Human figure, head or body",
  "Four-footed animal",
  "Bird",
  "Fish, snake or other animal",
  "Fabulous beast",
  "Flower, leaf or tree",
  "Grapes or other fruit",
  "Mountains",
  "Sun, moon or star",
  "Building or part of one",
  "Ship or anchor",
  "Hand or glove",
  "Crown",
  "Crossed keys or other tool",
  "Weapon",
  "Jug, pot or chalice",
  "Hat or other clothing",
  "Horn or other instrument",
  "Coat of arms",
  "Shield with a device",
  "Fleur-de-lis",
  "Cross or other sign of faith",
  "Britannia",
  "Circle or other plain shape",
  "Letters or a name",
  "Number or date",
];

/** The five measures, which share one uncertainty. @type {[keyof WatermarkRow & string, string, (text: string) => Reading][]} */
const MEASURES = [
  ["width_mm", "Width, across the chain lines", readLength],
  ["height_mm", "Height, along them", readLength],
  ["to_left_chain_mm", "To the chain line at its left", readDistance],
  ["to_right_chain_mm", "To the chain line at its right", readDistance],
  ["chain_interval_mm", "Between these two chain lines", readLength],
];

const DRAFTED = [...MEASURES.map(([part]) => part), "uncertainty_mm", "chains_within", "repertory_from_year", "repertory_to_year"];

/** Beyond so many standard uncertainties two lengths do not agree. Common practice, no source. */
const FAR_APART = 3;

/** @param {{held: Held}} props */
export function Watermarks({ held }) {
  const marks = held.watermarks.value;
  return html`<div class="stack watermarks">
    <h3>Watermarks</h3>
    <p class="soft small">
      Seen best in transmitted light. Measure on the sheet, from the side you name below.
    </p>
    ${marks.map((mark) => html`<${Watermark} key=${mark.id} held=${held} mark=${mark} />`)}
    <button
      type="button"
      class="button"
      data-field="watermark:add"
      onClick=${() => held.add("watermark", { side: held.view.side.value })}
    >
      ${marks.length ? "Add another watermark or countermark" : "Add a watermark or countermark"}
    </button>
  </div>`;
}

/** @param {{held: Held, mark: WatermarkRow}} props */
function Watermark({ held, mark }) {
  const field = (/** @type {string} */ part) => `watermark:${mark.id}:${part}`;
  const change = (/** @type {Partial<WatermarkRow>} */ fields) =>
    held.change("watermark", mark.id, fields);
  const words = (/** @type {"motif" | "letters" | "repertory" | "repertory_number" | "repertory_place" | "note"} */ part) => ({
    value: mark[part],
    fieldKey: field(part),
    onInput: (/** @type {string} */ text) => change({ [part]: text }),
  });
  const choice = (/** @type {"kind" | "side" | "seen_from" | "match"} */ part, /** @type {{value: string, label: string}[]} */ also = []) => ({
    name: field(part),
    fieldKey: field(part),
    options: [...optionsOf(part), ...also],
    value: mark[part],
    onChange: (/** @type {string} */ picked) => change({ [part]: picked }),
  });
  const number = (/** @type {string} */ part, /** @type {(text: string) => Reading} */ read) => ({
    held,
    fieldKey: field(part),
    value: /** @type {any} */ (mark)[part],
    read,
    onValue: (/** @type {number | null} */ value) => change({ [part]: value }),
  });
  const name = named("kind", mark.kind);

  return html`<section class="inset stack" aria-label=${watermarkName(mark)}>
    <h4 class="list-name">${watermarkName(mark)}</h4>
    <${Choice} label="Which of the two is it?" ...${choice("kind")} />
    <${TextField}
      label="What it shows"
      hint="In your own words; usual ones are offered as you type."
      suggestions=${MOTIFS}
      ...${words("motif")}
    />
    <${TextField} label="Letters or numbers in it" ...${words("letters")} />
    <${Choice} label="Seen and measured from" ...${choice("side")} />
    <${Choice}
      label="Which side of the mould faces you then?"
      ...${choice("seen_from", [NOT_SAID])}
    />
    <div>
      <div class="number-fields">
        ${MEASURES.map(
          ([part, label, read]) =>
            html`<${NumberField} key=${part} label=${label} unit="mm" ...${number(part, read)} />`,
        )}
        <${NumberField}
          label="Uncertainty of each, ±"
          unit="mm"
          ...${number("uncertainty_mm", readUncertainty)}
          onValue=${(/** @type {number | null} */ mm) => change({ uncertainty_mm: mm ?? 0.5 })}
        />
        <${NumberField}
          label="Chain lines that run through it"
          unit="lines"
          ...${number("chains_within", readChainLines)}
        />
      </div>
      ${disagreement(mark) && html`<${Notice}><p>${disagreement(mark)}</p><//>`}
    </div>
    <${Fold}
      name="Match in a printed repertory"
      open=${Boolean(mark.repertory || mark.repertory_number || mark.match)}
    >
      <${TextField} label="Repertory" hint="Author and title, or the usual short name." ...${words("repertory")} />
      <${TextField} label="Number in it" ...${words("repertory_number")} />
      <${TextField} label="Place that it gives" ...${words("repertory_place")} />
      <div class="number-fields">
        ${YEARS.map(
          ([part, label, other]) =>
            html`<${NumberField}
              key=${part}
              label=${label}
              unit=""
              ...${number(part, (text) => inOrder(mark, part, readYear(text)))}
              onValue=${(/** @type {number | null} */ year) =>
                change({ [part]: year, ...waitingYear(held, mark, field(other), other, part, year) })}
            />`,
        )}
      </div>
      <${Choice} label="How well does it match?" ...${choice("match", [NOT_SAID])} />
    <//>
    <${TextField} label="Note on the watermark" multiline ...${words("note")} />
    <${OpenQuestions} held=${held} entity="watermark" id=${mark.id} />
    <${RemoveButton}
      label=${`Remove this ${name.toLowerCase()}`}
      question=${`Remove this ${name.toLowerCase()}, with its measures and match?`}
      onRemove=${() => {
        for (const part of DRAFTED) held.draft(field(part), null);
        held.take("watermark", mark.id);
      }}
    />
  </section>`;
}

const NOT_SAID = { value: "", label: "Not said" };

/** @typedef {"repertory_from_year" | "repertory_to_year"} YearPart */
/** The other year stands last. @type {[YearPart, string, YearPart][]} */
const YEARS = [
  ["repertory_from_year", "First year", "repertory_to_year"],
  ["repertory_to_year", "Last year", "repertory_from_year"],
];

/**
 * The last year cannot lie before the first.
 *
 * @param {WatermarkRow} mark
 * @param {YearPart} part
 * @param {Reading} reading
 * @returns {Reading}
 */
function inOrder(mark, part, reading) {
  const year = reading.value;
  if (typeof year !== "number") return reading;
  const from = part === "repertory_from_year" ? year : mark.repertory_from_year;
  const to = part === "repertory_to_year" ? year : mark.repertory_to_year;
  return from !== null && to !== null && to < from
    ? { sentence: "The last year lies before the first: mend one of the two." }
    : reading;
}

/**
 * The other year, when it had been refused only because of this one and can be taken now.
 *
 * @param {Held} held
 * @param {WatermarkRow} mark
 * @param {string} key  of the other's draft
 * @param {YearPart} other
 * @param {YearPart} part
 * @param {number | null} year
 * @returns {Partial<WatermarkRow>}
 */
function waitingYear(held, mark, key, other, part, year) {
  const draft = held.drafts.value[key];
  if (draft === undefined) return {};
  const reading = inOrder({ ...mark, [part]: year }, other, readYear(draft));
  if (reading.sentence) return {};
  held.draft(key, null);
  return { [other]: reading.value };
}

/** A sentence when the figure and its distances do not fill the space between the chain lines. */
function disagreement(/** @type {WatermarkRow} */ mark) {
  const { to_left_chain_mm: left, width_mm: width, to_right_chain_mm: right, chain_interval_mm: interval } = mark;
  if (left === null || width === null || right === null || interval === null) return "";
  const sum = left + width + right;
  if (Math.abs(sum - interval) <= FAR_APART * 2 * mark.uncertainty_mm) return "";
  return (
    `The width and the two distances make ${inFigures(sum)} mm together, and between the chain lines ` +
    `there are ${inFigures(interval)} mm. Measure again, or leave it as you found it.`
  );
}
