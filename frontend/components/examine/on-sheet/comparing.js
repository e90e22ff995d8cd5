/** Photographs of a sheet looked at together over the whole screen, under a title, until it is closed. */

import { html } from "../../../vendor/ui.js";
import { SheetView } from "../../sheet-view/sheet-view.js";
import { Stage } from "../stage.js";

/**
 * @param {object} props
 * @param {string} props.title
 * @param {() => void} props.onClose
 * @param {Parameters<typeof SheetView>[0]} props.sheet  what the sheet view is given
 * @param {import("../../../vendor/ui.js").ComponentChildren} [props.note]  said below the title
 */
export function Comparing({ title, onClose, sheet, note }) {
  return html`<${Stage} label=${title} onClose=${onClose}>
    <div class="compare">
      <header class="compare-head">
        <h2>${title}</h2>
        <button type="button" class="button" onClick=${onClose}>Close</button>
        ${note && html`<div class="compare-note">${note}</div>`}
      </header>
      <${SheetView} ...${sheet} />
    </div>
  <//>`;
}
