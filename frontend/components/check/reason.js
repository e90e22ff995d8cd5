/** A reason in words: one of the usual ones by a tap, or one's own. */

import { html } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";

/** @import { Side } from "../../store/types.js" */

/** Usual reasons, so that a glove need not type. @type {{unseen: string[], left: string[]}} */
const USUAL = {
  unseen: ["Under the mount", "Glazing reflects", "The light is not at hand"],
  left: ["No time", "To be looked at in the lab"],
};
/** Those that hold for a point on the verso only. @type {typeof USUAL} */
const USUAL_ON_VERSO = { unseen: ["Verso not accessible"], left: ["The sheet is not to be turned"] };

/** @param {keyof typeof USUAL} why @param {Side} side  the point's @returns {string[]} */
export function usualReasons(why, side) {
  return side === "verso" ? [...USUAL_ON_VERSO[why], ...USUAL[why]] : USUAL[why];
}

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
