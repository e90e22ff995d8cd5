/** A work set out as on a printed label: its number large, its title, then what it is. */

import { html } from "../vendor/ui.js";
import { sheetSize, upperFirst } from "./wording.js";

/**
 * @param {object} props
 * @param {import("../store/types.js").ObjectRow | undefined} props.object  undefined while it is
 *   being read
 * @param {string} [props.place]  where it stands, in words
 * @param {2 | 3} [props.level]  level of the heading that holds the title
 * @param {boolean} [props.hasSize]  false where the sheet's size is told as it was measured
 */
export function ObjectLabel({ object, place = "", level = 2, hasSize = true }) {
  if (!object) return html`<div class="object-label" aria-busy="true"></div>`;
  const size = sheetSize(object.height_mm, object.width_mm);
  const made = [object.maker, object.date_text].filter(Boolean).join(", ");
  const matter = [object.media, object.support].filter(Boolean).join(" on ").toLowerCase();
  return html`<div class="object-label">
    <p class="object-number numeral">${object.accession_number}</p>
    ${level === 2
      ? html`<h2 class="object-title">${object.title}</h2>`
      : html`<h3 class="object-title">${object.title}</h3>`}
    ${made && html`<p>${made}</p>`}
    <dl class="object-facts">
      ${matter && html`<${Fact} name="Medium and support" value=${upperFirst(matter)} />`}
      ${hasSize && size && html`<${Fact} name="Sheet, height × width" value=${size} />`}
      ${object.mounts && html`<${Fact} name="Mount" value=${object.mounts} />`}
      ${place && html`<${Fact} name="Place" value=${place} whole />`}
    </dl>
  </div>`;
}

function Fact(
  /** @type {{name: string, value: string, whole?: boolean}} */ { name, value, whole = false },
) {
  return html`<div class=${whole ? "whole" : ""}><dt>${name}</dt><dd class="numeral">${value}</dd></div>`;
}
