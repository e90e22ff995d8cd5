/** Amendments to a signed examination: the words before and after stand side by side. */

import { Choice } from "../components/choice.js";
import { Notice } from "../components/notice.js";
import { valueInWords } from "../components/questions/values.js";
import { TextField } from "../components/text-field.js";
import { watermarkName } from "../components/watermark-words.js";
import { dayAndTime, grouped, named, optionsOf } from "../components/wording.js";
import { db, readSetting, writeSetting } from "../store/database.js";
import { session } from "../store/session.js";
import { term, vocabulary } from "../store/vocabulary.js";
import { create } from "../store/write.js";
import { html, useEffect, useState } from "../vendor/ui.js";

/**
 * @typedef {import("./examination.js").Whole} Whole
 *
 * least, most  of a number, mm when no unit is named
 * @typedef {{
 *   code: string,
 *   name: string,
 *   kind: "grade" | "coded" | "number" | "words",
 *   unit?: string,
 *   least?: number,
 *   most?: number,
 *   whole?: boolean,
 * }} Field
 */

/** What can be corrected on the examination itself. @type {Field[]} */
const EXAMINATION_FIELDS = [
  { code: "grade", name: "Overall grade", kind: "grade" },
  { code: "notes", name: "Notes", kind: "words" },
  { code: "mount", name: "Mount", kind: "words" },
  { code: "sheet_height_mm", name: "Sheet height", kind: "number" },
  { code: "sheet_width_mm", name: "Sheet width", kind: "number" },
  { code: "verso_seen", name: "Verso", kind: "coded" },
  { code: "lamp_s", name: "Ultraviolet lamp time", kind: "number", unit: "s", least: 0, most: 86_400, whole: true },
];

/** What can be corrected on one watermark. @type {Field[]} */
const WATERMARK_FIELDS = [
  { code: "kind", name: "Watermark or countermark", kind: "coded" },
  { code: "motif", name: "What it shows", kind: "words" },
  { code: "letters", name: "Letters", kind: "words" },
  { code: "side", name: "Side measured from", kind: "coded" },
  { code: "seen_from", name: "Side of the mould", kind: "coded" },
  { code: "width_mm", name: "Width", kind: "number", least: 0.01 },
  { code: "height_mm", name: "Height", kind: "number", least: 0.01 },
  { code: "to_left_chain_mm", name: "To the left chain line", kind: "number", least: 0 },
  { code: "to_right_chain_mm", name: "To the right chain line", kind: "number", least: 0 },
  { code: "chain_interval_mm", name: "Between the chain lines", kind: "number", least: 0.01 },
  { code: "uncertainty_mm", name: "Uncertainty", kind: "number", least: 0.01, most: 100 },
  { code: "chains_within", name: "Chain lines within", kind: "number", unit: "lines", least: 0, most: 50, whole: true },
  { code: "repertory", name: "Repertory", kind: "words" },
  { code: "repertory_number", name: "Number in the repertory", kind: "words" },
  { code: "repertory_place", name: "Place in the repertory", kind: "words" },
  { code: "repertory_from_year", name: "First year", kind: "number", unit: "year", least: 1000, most: 2100, whole: true },
  { code: "repertory_to_year", name: "Last year", kind: "number", unit: "year", least: 1000, most: 2100, whole: true },
  { code: "match", name: "Match", kind: "coded" },
  { code: "note", name: "Note", kind: "words" },
];

/** What can be corrected on one observation. @type {Field[]} */
const OBSERVATION_FIELDS = [
  { code: "severity", name: "Severity", kind: "coded" },
  { code: "extent", name: "Extent", kind: "coded" },
  { code: "nature", name: "Damage or feature", kind: "coded" },
  { code: "side", name: "Side", kind: "coded" },
  { code: "note", name: "Note", kind: "words" },
];

/** Nothing is corrected, only words are added. */
const WORDS_ONLY = "words";

function fieldsOf(/** @type {string} */ subject) {
  if (subject.startsWith("observation:")) return OBSERVATION_FIELDS;
  return subject.startsWith("watermark:") ? WATERMARK_FIELDS : EXAMINATION_FIELDS;
}

function subjectName(/** @type {Whole} */ whole, /** @type {string} */ subject) {
  const row = rowOf(whole, subject);
  if (subject.startsWith("watermark:")) return row ? watermarkName(/** @type {any} */ (row)) : "Watermark";
  if (!subject.startsWith("observation:")) return "Examination";
  const { term: code } = /** @type {{term?: string}} */ (row ?? {});
  return code ? (term(code)?.name ?? code) : "Observation";
}

/** The record that an amendment is about. */
function rowOf(/** @type {Whole} */ whole, /** @type {string} */ subject) {
  const [entity, id] = subject.split(":");
  const rows = { observation: whole.observations, watermark: whole.watermarks };
  if (!id) return whole.examination;
  return rows[/** @type {keyof typeof rows} */ (entity)]?.find((row) => row.id === id);
}

/** A record added after signing, in words: "Observation: tear, slight, recto". */
function contentInWords(/** @type {unknown} */ content) {
  if (typeof content !== "object" || content === null) return String(content);
  return Object.entries(content)
    .map(([entity, fields]) => {
      if (entity === "deleted") return "To be left out";
      const words = Object.entries(fields)
        .filter(([, value]) => typeof value !== "object" && value !== "")
        .map(([field, value]) =>
          field === "term" ? (term(value)?.name ?? value) : valueInWords(field, value),
        );
      return `${entity.charAt(0).toUpperCase()}${entity.slice(1)}: ${words.join(", ")}`;
    })
    .join(". ");
}

/** Whether an amendment corrects this field, or any field when none is named. */
export function isAmended(
  /** @type {Whole} */ whole,
  /** @type {string} */ subject,
  /** @type {string} */ field = "",
) {
  return whole.amendments.some(
    (row) => row.subject === subject && (field ? row.field === field : row.field !== ""),
  );
}

/** @param {{whole: Whole}} props */
export function AmendmentList({ whole }) {
  if (!whole.amendments.length) {
    return html`<p class="soft">
      None. What is signed stays as it is; a correction is added here and both are shown.
    </p>`;
  }
  return html`<ol class="amendments">
    ${whole.amendments.map((row) => {
      const field = fieldsOf(row.subject).find((each) => each.code === row.field);
      return html`<li class="amendment" key=${row.id}>
        <h3>
          ${row.field
            ? `${subjectName(whole, row.subject)}: ${(field?.name ?? row.field).toLowerCase()}`
            : "Added words"}
        </h3>
        ${row.field &&
        html`<dl class="before-after">
          <div><dt>Before</dt><dd>${valueInWords(row.field, row.before)}</dd></div>
          <div><dt>After</dt><dd>${valueInWords(row.field, row.after)}</dd></div>
        </dl>`}
        ${!row.field && row.after !== null && html`<p>${contentInWords(row.after)}</p>`}
        <p class="as-written">${row.reason}</p>
        <p class="soft small">
          <span class="signature-name">${row.signed_name}</span>, ${dayAndTime(row.signed_at)}
        </p>
      </li>`;
    })}
  </ol>`;
}

/** What is typed into the form, kept on the tablet until it is signed. */
const EMPTY = { subject: "examination", code: "", after: "", reason: "", name: "" };

/** @param {{whole: Whole, onDone: () => void}} props */
export function AmendmentForm({ whole, onDone }) {
  const key = `amendment of ${whole.examination.id}`;
  const [form, setForm] = useState(/** @type {typeof EMPTY | null} */ (null));
  const [problem, setProblem] = useState("");
  useEffect(() => {
    const fresh = { ...EMPTY, name: session.value?.person.name ?? "" };
    readSetting(key).then((kept) => setForm({ ...fresh, .../** @type {object} */ (kept) }));
  }, [key]);
  if (!form) return null;

  const { subject, code, after, reason, name } = form;
  const field = fieldsOf(subject).find((each) => each.code === code);
  const before = currentValue(whole, subject, code);
  const change = (/** @type {Partial<typeof EMPTY>} */ fields) => {
    const next = { ...form, ...fields };
    setForm(next);
    writeSetting(key, next).catch((error) => setProblem(error.message));
  };
  const sign = async () => {
    const trouble = troubleIn({ subject, field, after, before, reason, name });
    if (trouble) return setProblem(trouble);
    try {
      await create("amendment", {
        examination: whole.examination.id,
        subject: subject === WORDS_ONLY ? "examination" : subject,
        field: field?.code ?? "",
        before: field ? (before ?? null) : null,
        after: field ? (field.kind === "number" ? numberIn(after) : after.trim()) : null,
        reason: reason.trim(),
        signed_at: new Date().toISOString(),
        signed_name: name.trim(),
      });
      await db.settings.delete(key);
      onDone();
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };

  return html`<div class="stack amendment-form">
    <${Choice}
      label="What does it correct?"
      name="amendment-subject"
      options=${[
        { value: "examination", label: "The examination" },
        ...whole.observations.map((row) => ({
          value: `observation:${row.id}`,
          label: term(row.term)?.name ?? row.term,
          hint: named("side", row.side),
        })),
        ...whole.watermarks.map((row) => ({
          value: `watermark:${row.id}`,
          label: watermarkName(row),
          hint: named("side", row.side),
        })),
        { value: WORDS_ONLY, label: "Nothing, it adds words" },
      ]}
      value=${subject}
      onChange=${(/** @type {string} */ value) => change({ subject: value, code: "", after: "" })}
    />
    ${subject !== WORDS_ONLY &&
    html`<${Choice}
      label="Which part of it?"
      name="amendment-field"
      options=${fieldsOf(subject).map((each) => ({ value: each.code, label: each.name }))}
      value=${code}
      onChange=${(/** @type {string} */ value) => change({ code: value, after: "" })}
    />`}
    ${field &&
    html`<p><span class="soft">As it stands:</span> ${valueInWords(field.code, before)}</p>
      <${AfterField} key=${subject + code} field=${field} value=${after}
        onInput=${(/** @type {string} */ text) => change({ after: text })} />`}
    <${TextField}
      label=${subject === WORDS_ONLY ? "Words to add" : "Why it is amended"}
      multiline
      value=${reason}
      onInput=${(/** @type {string} */ text) => change({ reason: text })}
    />
    <${TextField}
      label="Your name, as signature"
      value=${name}
      onInput=${(/** @type {string} */ text) => change({ name: text })}
    />
    ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
    <div class="row">
      <button type="button" class="button-next" onClick=${sign}>Sign the amendment</button>
    </div>
  </div>`;
}

function AfterField(
  /** @type {{field: Field, value: string, onInput: (value: string) => void}} */ {
    field,
    value,
    onInput,
  },
) {
  if (field.kind === "grade" || field.kind === "coded") {
    const options =
      field.kind === "grade"
        ? vocabulary.value.grades.map((each) => ({ value: each.code, label: each.name }))
        : optionsOf(field.code);
    return html`<${Choice}
      label="Amended to"
      name="amendment-after"
      options=${options}
      value=${value}
      onChange=${onInput}
    />`;
  }
  return html`<${TextField}
    label="Amended to"
    value=${value}
    onInput=${onInput}
    multiline=${field.kind === "words"}
    unit=${field.kind === "number" ? (field.unit ?? "mm") : ""}
    inputMode=${field.kind === "number" ? "decimal" : undefined}
  />`;
}

/** The value that stands now: the last amendment's, or the signed one. */
function currentValue(
  /** @type {Whole} */ whole,
  /** @type {string} */ subject,
  /** @type {string} */ code,
) {
  const amended = whole.amendments.findLast(
    (row) => row.subject === subject && row.field === code,
  );
  if (amended) return amended.after;
  return /** @type {any} */ (rowOf(whole, subject))?.[code];
}

/** A comma is taken for the decimal point. NaN when it is no number. */
function numberIn(/** @type {string} */ text) {
  return text.trim() ? Number(text.trim().replace(",", ".")) : NaN;
}

/**
 * What hinders signing, in a sentence; "" when nothing does.
 *
 * @param {{subject: string, field?: Field, after: string, before: unknown, reason: string, name: string}} form
 */
function troubleIn({ subject, field, after, before, reason, name }) {
  if (subject !== WORDS_ONLY && !field) return "Choose which part is corrected.";
  if (field?.kind === "number") {
    const value = numberIn(after);
    const { least = 1, most = 10_000, unit = "mm", whole = false } = field;
    if (!(value >= least && value <= most)) {
      const what = unit === "mm" ? "the length in mm" : unit === "s" ? "the time in seconds" : "a number";
      return `Give ${what}, from ${grouped(least)} to ${unit === "year" ? most : grouped(most)}.`;
    }
    if (whole && !Number.isInteger(value)) return "Give a whole number.";
  } else if (field && field.kind !== "words" && !after) {
    return "Choose what it is amended to.";
  }
  if (field && String(before ?? "") === after.trim()) return "This is what stands already.";
  if (!reason.trim()) {
    return field ? "Say why it is amended." : "Write the words you want to add.";
  }
  if (!name.trim()) return "Write your name: it is your signature.";
  return "";
}
