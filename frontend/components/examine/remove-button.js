/** Takes something away, and asks once before it does. */

import { html, useState } from "../../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.label  for example "Remove tear"
 * @param {string} props.question  says what goes with it
 * @param {() => void} props.onRemove
 */
export function RemoveButton({ label, question, onRemove }) {
  const [asking, setAsking] = useState(false);
  if (!asking) {
    return html`<button type="button" class="button" onClick=${() => setAsking(true)}>
      ${label}
    </button>`;
  }
  return html`<div class="remove-question" role="group" aria-label=${label}>
    <p role="status">${question}</p>
    <div class="row">
      <button type="button" class="button" onClick=${() => setAsking(false)}>Keep</button>
      <button type="button" class="button" onClick=${onRemove}>${label}</button>
    </div>
  </div>`;
}
