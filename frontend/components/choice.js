/** One choice, or several, among big tiles: real radio buttons or tick boxes underneath. */

import { html } from "../vendor/ui.js";

/**
 * @typedef {object} Option
 * @property {string} value
 * @property {string} label
 * @property {string} [hint]  one line under the label
 * @property {unknown} [figure]  drawn before the label, for example a LightFigure
 */

/**
 * @param {object} props
 * @param {string} props.label  the question, as the group's legend
 * @param {string} props.name  one name a group on the screen
 * @param {Option[]} props.options
 * @param {string | string[] | null | undefined} props.value  a list when `multiple`
 * @param {(value: any) => void} props.onChange  gets the value, or the new list of values
 * @param {boolean} [props.multiple]
 * @param {string} [props.hint]
 * @param {string | null} [props.error]
 * @param {boolean} [props.hideLabel]  the legend is read out but not shown
 * @param {"tiles" | "list"} [props.shape]  tiles flow side by side; a list has one a line
 * @param {string} [props.fieldKey]  set as data-field on every input, with the option's value
 */
export function Choice({
  label,
  name,
  options,
  value,
  onChange,
  multiple = false,
  hint = "",
  error = null,
  hideLabel = false,
  shape = "tiles",
  fieldKey,
}) {
  const chosen = multiple ? new Set(Array.isArray(value) ? value : []) : new Set([value]);
  const pick = (/** @type {string} */ picked, /** @type {boolean} */ on) => {
    if (!multiple) return onChange(picked);
    const next = options
      .map((option) => option.value)
      .filter((code) => (code === picked ? on : chosen.has(code)));
    return onChange(next);
  };

  return html`<fieldset class=${`choice ${shape}`}>
    <legend class=${hideLabel ? "visually-hidden" : ""}>${label}</legend>
    ${hint && html`<p class="field-hint">${hint}</p>`}
    <div class="choice-options">
      ${options.map(
        (option) => html`<label class="choice-tile" key=${option.value}>
          <input
            type=${multiple ? "checkbox" : "radio"}
            name=${name}
            value=${option.value}
            checked=${chosen.has(option.value)}
            data-field=${fieldKey ? `${fieldKey}:${option.value}` : undefined}
            onChange=${(/** @type {{currentTarget: HTMLInputElement}} */ event) =>
              pick(option.value, event.currentTarget.checked)}
          />
          <span class="choice-mark" aria-hidden="true"></span>
          ${option.figure}
          <span class="choice-words">
            <span class="choice-label">${option.label}</span>
            ${option.hint && html`<span class="choice-hint">${option.hint}</span>`}
          </span>
        </label>`,
      )}
    </div>
    ${error && html`<p class="field-error" role="alert">${error}</p>`}
  </fieldset>`;
}
