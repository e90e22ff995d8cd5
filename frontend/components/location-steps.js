/** The tree of places, one level at a time: up, where one is, and what lies inside. */

import { html } from "../vendor/ui.js";

/**
 * @param {object} props
 * @param {import("../store/locations.js").Places} props.places
 * @param {string | null} props.at  the place whose inside is shown; null for all sites
 * @param {(id: string | null) => void} props.onGo
 * @param {(id: string) => void} [props.onChoose]  without it the tree is only walked
 * @param {string | null} [props.chosen]
 */
export function LocationSteps({ places, at, onGo, onChoose, chosen = null }) {
  const here = places.get(at);
  return html`<div class="location-steps">
    ${here &&
    html`<div class="location-head">
      <button type="button" class="button" onClick=${() => onGo(here.parent)}>↑ Up</button>
      <span class="location-path">${places.words(here.id)}</span>
      ${onChoose &&
      html`<button type="button" class="button" onClick=${() => onChoose(here.id)}>
        Choose ${here.name}
      </button>`}
    </div>`}
    <ul class="rows" aria-label=${here ? `In ${here.name}` : "All sites"}>
      ${places.under(here?.id ?? null).map((row) => {
        const inside = places.under(row.id).length;
        const choosing = onChoose && !inside;
        return html`<li key=${row.id}>
          <button
            type="button"
            class="row-link"
            aria-current=${row.id === chosen ? "true" : undefined}
            onClick=${() => (choosing ? onChoose(row.id) : onGo(row.id))}
          >
            <span class="grow">
              <span class="location-name">${row.name}</span>
              <span class="soft small">${row.kind}${inside ? `, ${inside} inside` : ""}</span>
            </span>
            ${row.id === chosen && html`<span class="tag">Chosen</span>`}
            ${choosing
              ? row.id !== chosen && html`<span class="soft small">Choose</span>`
              : html`<span class="soft" aria-hidden="true">›</span>`}
          </button>
        </li>`;
      })}
    </ul>
    ${places.all.length === 0 &&
    html`<p class="empty">
      <strong>No places are carried yet.</strong>
      They arrive when this device first sends and receives.
    </p>`}
  </div>`;
}
