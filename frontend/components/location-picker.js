/** Says where something is: step by step down the tree, by search, or off site in words. */

import { usePlaces } from "../store/locations.js";
import { wantedBy } from "../store/wanted.js";
import { html, useState } from "../vendor/ui.js";
import { LocationSteps } from "./location-steps.js";
import { TextField } from "./text-field.js";

/** @typedef {{location: string | null, place: string}} Whereabouts  one of the two is empty */

const SHOWN_AT_MOST = 40;

/**
 * @param {object} props
 * @param {Whereabouts} props.value  the tree's place by id, or an off-site place in words
 * @param {(value: Whereabouts) => void} props.onPick
 */
export function LocationPicker({ value, onPick }) {
  const places = usePlaces();
  const [search, setSearch] = useState("");
  const [at, setAt] = useState(/** @type {string | null | undefined} */ (undefined));
  const [offSite, setOffSite] = useState(value.place);

  // Opens beside the place that is set now, so that its neighbours are one tap away.
  const here = at === undefined ? (places.path(value.location).at(-2)?.id ?? null) : at;
  const pick = (/** @type {string} */ id) => {
    setSearch("");
    setOffSite("");
    setAt(places.under(id).length ? id : (places.get(id)?.parent ?? null));
    onPick({ location: id, place: "" });
  };
  const writeOffSite = (/** @type {string} */ text) => {
    setOffSite(text);
    onPick({ location: text.trim() ? null : value.location, place: text.trim() });
  };

  return html`<div class="location-picker">
    <p class="location-now">
      <span class="soft">Place</span>
      <strong>${places.words(value.location) || value.place || "Not said yet"}</strong>
    </p>
    <${TextField}
      label="Search for a place"
      type="search"
      value=${search}
      onInput=${setSearch}
      hint="Part of a name, for example a room and a shelf."
    />
    ${search.trim()
      ? html`<${PlacesFound} places=${places} search=${search} onChoose=${pick} />`
      : html`<${LocationSteps}
          places=${places}
          at=${here}
          onGo=${setAt}
          onChoose=${pick}
          chosen=${value.location}
        />`}
    <${TextField}
      label="Off site: write the place"
      value=${offSite}
      onInput=${writeOffSite}
      hint="Building, room, and whatever helps someone find it again."
    />
  </div>`;
}

function PlacesFound(
  /** @type {{places: import("../store/locations.js").Places, search: string, onChoose: (id: string) => void}} */ {
    places,
    search,
    onChoose,
  },
) {
  const isWanted = wantedBy(search);
  const found = places.all.filter((row) => isWanted(places.words(row.id)));
  return html`<ul class="rows" aria-label="Places found">
      ${found.slice(0, SHOWN_AT_MOST).map(
        (row) => html`<li key=${row.id}>
          <button type="button" class="row-link" onClick=${() => onChoose(row.id)}>
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
      `${found.length - SHOWN_AT_MOST} more places. Add a word to narrow them.`}
    </p>`;
}
