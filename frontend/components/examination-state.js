/** How far an examination is, at the end of its row: its grade once it is signed. */

import { grade } from "../store/vocabulary.js";
import { html } from "../vendor/ui.js";
import { clock, day } from "./wording.js";

/** @param {{examination: import("../store/types.js").ExaminationRow}} props */
export function ExaminationState({ examination: { signed_at, started_at, grade: code } }) {
  return html`<span class="row-end">
    ${signed_at
      ? html`<span class="tag">${grade(code)?.name ?? "No grade"}</span>
          <span class="soft small">Signed ${clock(signed_at)}</span>`
      : html`<span class="tag open">Not signed</span>
          <span class="soft small">Begun ${day(started_at)}</span>`}
  </span>`;
}

/** Where an examination is read, or gone on with. @param {import("../store/types.js").ExaminationRow} row */
export function addressOf({ id, signed_at }) {
  return signed_at ? `#/examination/${id}` : `#/examine/${id}`;
}
