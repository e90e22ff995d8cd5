/** Where the object was found: confirmed with one tap, or corrected. */

import { usePlaces } from "../../store/locations.js";
import { html, useState } from "../../vendor/ui.js";
import { lazy } from "../lazy.js";
import { DevicePosition } from "./device-position.js";
import { OpenQuestions } from "./open-questions.js";
import { hasMoved } from "./progress.js";
import { Section } from "./section.js";

const LocationPicker = lazy(async () => (await import("../location-picker.js")).LocationPicker);

/** @param {{held: import("./held.js").Held}} props */
export function LocationSection({ held }) {
  const [choosing, setChoosing] = useState(false);
  const places = usePlaces();
  const examination = held.examination.value;
  const object = held.object.value;
  if (!examination) return null;

  const inCatalogue = object ? places.words(object.location) || object.off_site_place : "";
  const found = places.words(examination.location) || examination.place;
  const confirm = () =>
    held.changeExamination({
      location: object?.location ?? null,
      place: object?.off_site_place ?? "",
      location_confirmed: true,
    });

  return html`<${Section} id="place" title="Place">
    ${examination.location_confirmed
      ? html`<p class="stated">
          <span class="soft small">Found here</span>
          <strong>${found}</strong>
        </p>`
      : html`<p class="stated">
          <span class="soft small">The catalogue says</span>
          <strong>${inCatalogue || "No place"}</strong>
        </p>`}
    <${OpenQuestions}
      held=${held}
      entity="examination"
      fields=${["location", "place", "location_confirmed", "position"]}
    />
    ${hasMoved(examination, object) &&
    html`<p>
      The catalogue says ${inCatalogue || "no place"}. When you sign, the move to here is recorded.
    </p>`}
    ${!choosing &&
    html`<div class="row">
      ${!examination.location_confirmed &&
      inCatalogue &&
      html`<button type="button" class="button big" data-field="place:yes" onClick=${confirm}>
        Yes, it is here
      </button>`}
      <button
        type="button"
        class="button big"
        data-field="place:other"
        onClick=${() => setChoosing(true)}
      >
        ${examination.location_confirmed ? "Change the place" : "It is somewhere else"}
      </button>
    </div>`}
    ${choosing &&
    html`<div class="inset stack">
      <${LocationPicker}
        value=${{ location: examination.location, place: examination.place }}
        onPick=${(/** @type {{location: string | null, place: string}} */ picked) =>
          held.changeExamination({
            ...picked,
            location_confirmed: Boolean(picked.location || picked.place),
          })}
      />
      <button type="button" class="button" onClick=${() => setChoosing(false)}>
        Close the list of places
      </button>
    </div>`}
    <${DevicePosition}
      position=${examination.position}
      onPosition=${(/** @type {import("../../store/types.js").Position | null} */ position) =>
        held.changeExamination({ position })}
    />
  <//>`;
}
