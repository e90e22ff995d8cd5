/** The place of an observation on one of the photographs. */

import { light } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Thumbnail } from "../thumbnail.js";
import { lowerFirst } from "../wording.js";
import { MarkRing } from "./mark-ring.js";
import { isOnSheet, photographInWords } from "./words.js";

/** @import { ObservationRow, PhotographRow } from "../../store/types.js" */

/** @param {{held: import("./held.js").Held, observation: ObservationRow}} props */
export function MarkPlace({ held, observation }) {
  const photographs = held.photographs.value;
  const marked = photographs.find(({ id }) => id === observation.mark?.photograph);
  const open = (/** @type {PhotographRow} */ { id }) =>
    (held.view.photograph.value = { id, marking: observation.id });
  const outlined =
    photographs.find((each) => isOnSheet(each) && each.side === observation.side) ??
    photographs.find(isOnSheet);

  return html`<div>
    <h4>Mark on a photograph</h4>
    ${observation.region &&
    html`<div class="outlined stack">
      <p>Its outline is drawn on the sheet, and shows on every photograph that is placed.</p>
      ${outlined &&
      html`<button
        type="button"
        class="button"
        onClick=${() =>
          (held.view.photograph.value = {
            id: outlined.id,
            marking: observation.id,
            task: { do: "outline" },
          })}
      >
        Show and change the outline
      </button>`}
      ${photographs.length > 0 && html`<p class="soft small">A mark on one photograph can be set as well.</p>`}
    </div>`}
    ${photographs.length === 0
      ? html`<p class="soft small">
          Photograph the sheet first; then the place can be marked here. A mark can be left out.
        </p>`
      : marked && observation.mark
        ? html`<div class="marked">
            <span class="marked-picture">
              <${Thumbnail} sha256=${marked.sha256} alt=${inWords(marked)} />
              <${MarkRing}
                mark=${observation.mark}
                number=${held.observations.value.indexOf(observation) + 1}
                strong
              />
            </span>
            <div class="stack">
              <p>${inWords(marked)}</p>
              <div class="row">
                <button type="button" class="button" onClick=${() => open(marked)}>
                  Move the mark
                </button>
                <button
                  type="button"
                  class="button"
                  onClick=${() => held.change("observation", observation.id, { mark: null })}
                >
                  Take the mark away
                </button>
              </div>
            </div>
          </div>`
        : html`<p class="soft small">Tap the photograph that shows it best.</p>
            <ul class="shots">
              ${photographs.map(
                (photograph) => html`<li key=${photograph.id}>
                  <button
                    type="button"
                    class="shot"
                    aria-label=${`Mark on: ${lowerFirst(inWords(photograph))}`}
                    onClick=${() => open(photograph)}
                  >
                    <${Thumbnail} sha256=${photograph.sha256} alt=${inWords(photograph)} />
                    <span class="shot-words small">${inWords(photograph)}</span>
                  </button>
                </li>`,
              )}
            </ul>`}
  </div>`;
}

function inWords(/** @type {PhotographRow} */ photograph) {
  const name = light(photograph.light)?.name ?? photograph.light;
  return `${name}, ${lowerFirst(photographInWords(photograph))}`;
}
