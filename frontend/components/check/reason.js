/** A reason in words: one of the usual ones by a tap, or one's own. */

import { html } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";

/**
 * @param {object} props
 * @param {string} props.label
 * @param {string} props.value
 * @param {string[]} props.usual
 * @param {(words: string) => void} props.onReason
 */
export function Reason({ label, value, usual, onReason }) {
  return html`<div class="inset stack" data-part="reason">
    <div class="row" role="group" aria-label="Usual reasons">
      ${usual.map(
        (words) => html`<button
          type="button"
          key=${words}
          class="button"
          aria-pressed=${value === words}
          onClick=${() => onReason(words)}
        >
          ${words}
        </button>`,
      )}
    </div>
    <${TextField}
      label=${label}
      value=${value}
      fieldKey="reason"
      hint="A reason is needed: tap one above, or write your own."
      onInput=${onReason}
    />
  </div>`;
}
