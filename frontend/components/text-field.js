/** A labelled field for one line, several lines, a number with its unit, or a date. */

import { html, useEffect, useRef, useState } from "../vendor/ui.js";

/**
 * What is typed is shown from the field's own memory, not from the store, so a slow or failed
 * write can neither swallow a letter nor move the caret. A new value from outside is taken up
 * when the person is not in the field.
 *
 * @param {object} props
 * @param {string} props.label
 * @param {string | number | null | undefined} props.value
 * @param {(text: string) => void} props.onInput  gets every keystroke
 * @param {boolean} [props.multiline]
 * @param {string} [props.unit]  shown after the field and read with the label
 * @param {string} [props.type]
 * @param {string} [props.inputMode]
 * @param {string} [props.hint]
 * @param {string | null} [props.error]  a sentence that says what to do
 * @param {string} [props.fieldKey]  set as data-field, so that the app can come back to it
 * @param {string} [props.autocomplete]
 * @param {boolean} [props.disabled]
 * @param {string[]} [props.suggestions]  usual words, offered while one types
 */
export function TextField({
  label,
  value,
  onInput,
  multiline = false,
  unit = "",
  type = "text",
  inputMode,
  hint = "",
  error = null,
  fieldKey,
  autocomplete = "off",
  disabled = false,
  suggestions = [],
}) {
  const outside = value === null || value === undefined ? "" : String(value);
  const [draft, setDraft] = useState(outside);
  const inField = useRef(false);
  useEffect(() => {
    if (!inField.current) setDraft(outside);
  }, [outside]);

  const id = useRef(nextId()).current;
  const hintId = hint ? `${id}-hint` : "";
  const errorId = error ? `${id}-error` : "";
  const hear = (/** @type {string} */ text) => {
    setDraft(text);
    onInput(text);
  };
  const control = {
    id,
    value: draft,
    disabled,
    autocomplete,
    "data-field": fieldKey,
    list: suggestions.length ? `${id}-usual` : undefined,
    "aria-invalid": error ? "true" : undefined,
    "aria-describedby": [hintId, errorId].filter(Boolean).join(" ") || undefined,
    onFocus: () => (inField.current = true),
    onBlur: () => (inField.current = false),
    onInput: (/** @type {{currentTarget: {value: string}}} */ event) =>
      hear(event.currentTarget.value),
  };

  return html`<div class=${`field ${error ? "in-error" : ""}`}>
    <label for=${id}>${label}${unit && html`<span class="visually-hidden">, in ${unit}</span>`}</label>
    ${hint && html`<p class="field-hint" id=${hintId}>${hint}</p>`}
    <div class="field-line">
      ${multiline
        ? html`<textarea rows="4" ...${control}></textarea>`
        : html`<input type=${type} inputmode=${inputMode} ...${control} />`}
      ${suggestions.length > 0 &&
      html`<datalist id=${`${id}-usual`}>
        ${suggestions.map((words) => html`<option value=${words}></option>`)}
      </datalist>`}
      ${unit && html`<span class="field-unit" aria-hidden="true">${unit}</span>`}
      ${type === "search" &&
      draft &&
      html`<button type="button" class="button" onClick=${() => hear("")}>Clear</button>`}
    </div>
    ${error && html`<p class="field-error" id=${errorId}>${error}</p>`}
  </div>`;
}

let made = 0;

function nextId() {
  made += 1;
  return `field-${made}`;
}
