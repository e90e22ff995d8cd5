/** Says where something is: step by step down the tree, by search, or off site in words. */

import { usePlaces } from "../store/locations.js";
import { html, useState } from "../vendor/ui.js";
import { TextField } from "./text-field.js";

/** @typedef {{location: string | null, place: string}} Whereabouts  one of the two is empty */

const SHOWN_AT_MOST = 40;

/**
 * @param {object} props
 * @param {Whereabouts} props.value  the tree's place by id, or an off-site place in words
 * @param {(value: Whereabouts) => void} props.onPick
 * @param {boolean} [props.onlyTree]  leaves out the off-site field
 */
export function LocationPicker({ value, onPick, onlyTree = false }) {
  const places = usePlaces();
  const [search, setSearch] = useState("");
  const [at, setAt] = useState(/** @type {string | null | undefined} */ (undefined));
  const [offSite, setOffSite] = useState(value.place);

  // Opens beside the place that is set now, so that its neighbours are one tap away.
  const chosen = places.get(value.location);
  const here = at === undefined ? (places.path(value.location).at(-2)?.id ?? null) : at;
  const hereRow = places.get(here);
  const words = search.trim().toLowerCase().split(/\s+/).filter(Boolean);
  const found = words.length
    ? places.all.filter((row) => {
        const path = places.words(row.id).toLowerCase();
        return words.every((word) => path.includes(word));
      })
    : [];

  const pick = (/** @type {string} */ id) => {
    setSearch("");
    setOffSite("");
    setAt(places.under(id).length ? id : (places.get(id)?.parent ?? null));
    onPick({ location: id, place: "" });
  };

  return html`<div class="location-picker">
    <p class="location-now">
      <span class="soft">Place</span>
      <strong>${chosen ? places.words(chosen.id) : value.place || "Not said yet"}</strong>
    </p>
    <${TextField}
      label="Search for a place"
      type="search"
      value=${search}
      onInput=${setSearch}
      hint="Part of a name, for example a room and a shelf."
    />
    ${words.length
      ? html`<ul class="rows" aria-label="Places found">
            ${found.slice(0, SHOWN_AT_MOST).map(
              (row) => html`<li key=${row.id}>
                <button type="button" class="row-link" onClick=${() => pick(row.id)}>
                  <span class="grow">
                    <span class="location-name">${row.name}</span>
                    <span class="soft small">${places.words(row.parent)}</span>
                  </span>
                  <span class="soft small">${row.kind}</span>
                </button>
              </li>`,
            )}
          </ul>
          <p class="soft small" aria-live="polite">
            ${found.length === 0 && "No place has that name. Try fewer words, or write it below."}
            ${found.length > SHOWN_AT_MOST &&
            `${found.length - SHOWN_AT_MOST} more. Add a word to narrow them.`}
          </p>`
      : html`<div class="location-tree">
          ${hereRow &&
          html`<div class="location-head">
            <button
              type="button"
              class="button"
              onClick=${() => setAt(hereRow.parent ?? null)}
            >
              ↑ Up
            </button>
            <span class="grow location-path">${places.words(hereRow.id)}</span>
            <button type="button" class="button" onClick=${() => pick(hereRow.id)}>
              Choose ${hereRow.name}
            </button>
          </div>`}
          <ul class="rows" aria-label=${hereRow ? `In ${hereRow.name}` : "All sites"}>
            ${places.under(here).map((row) => {
              const inside = places.under(row.id).length;
              return html`<li key=${row.id}>
                <button
                  type="button"
                  class="row-link"
                  aria-current=${row.id === value.location ? "true" : undefined}
                  onClick=${() => (inside ? setAt(row.id) : pick(row.id))}
                >
                  <span class="grow">
                    <span class="location-name">${row.name}</span>
                    <span class="soft small">${row.kind}</span>
                  </span>
                  ${row.id === value.location && html`<span class="tag">Chosen</span>`}
                  <span class="soft small">${inside ? `${inside} inside ›` : "Choose"}</span>
                </button>
              </li>`;
            })}
          </ul>
          ${places.all.length === 0 &&
          html`<p class="empty">
            <strong>No places are carried yet.</strong>
            They arrive when this tablet first sends and receives. Until then, write the place.
          </p>`}
        </div>`}
    ${!onlyTree &&
    html`<div class="location-off-site">
      <${TextField}
        label="Off site: write the place"
        value=${offSite}
        onInput=${(/** @type {string} */ text) => {
          setOffSite(text);
          onPick({ location: text.trim() ? null : value.location, place: text.trim() });
        }}
        hint="Building, room, and whatever helps someone find it again."
      />
    </div>`}
  </div>`;
}
