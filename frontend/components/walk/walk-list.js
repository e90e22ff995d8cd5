/** The stops of a walk by how far they are, in shelf order; only some are drawn until more are wanted. */

import { db } from "../../store/database.js";
import { useLive } from "../../store/live.js";
import { usePlaces } from "../../store/locations.js";
import { html, useState } from "../../vendor/ui.js";
import { addressOf, ExaminationState } from "../examination-state.js";
import { count, grouped } from "../wording.js";

/** @import { ObjectRow } from "../../store/types.js" */
/** @import { Stand, Walk } from "../../store/walk.js" */

const SHOWN_AT_ONCE = 40;

/** @type {{part: "left" | "signed" | "missing", name: string, none: string}[]} */
const PARTS = [
  { part: "left", name: "Left", none: "Nothing is left of this walk." },
  { part: "signed", name: "Signed", none: "Nothing is signed yet." },
  { part: "missing", name: "Not found", none: "Nothing is noted as not found." },
];

/**
 * @param {object} props
 * @param {Walk} props.walk
 * @param {(stand: Stand) => void} props.onTakeBack  of one that is noted as not found
 */
export function WalkList({ walk, onTakeBack }) {
  const [part, setPart] = useState(PARTS[0].part);
  const [most, setMost] = useState(SHOWN_AT_ONCE);
  const stands = walk[part];
  const shown = stands.slice(0, most);
  const more = Math.min(SHOWN_AT_ONCE, stands.length - shown.length);
  const keys = shown.map(({ stop }) => stop.object);
  const objects = useLive(() => readObjects(keys), [keys.join()], NO_OBJECTS);
  const choose = (/** @type {typeof part} */ chosen) => {
    setPart(chosen);
    setMost(SHOWN_AT_ONCE);
  };
  return html`<div class="row ways" role="group" aria-label="Parts of the walk">
      ${PARTS.map(
        (each) => html`<button
          type="button"
          key=${each.part}
          class="button way"
          aria-pressed=${part === each.part}
          onClick=${() => choose(each.part)}
        >
          ${each.name} <span class="numeral">${grouped(walk[each.part].length)}</span>
        </button>`,
      )}
    </div>
    ${stands.length === 0 &&
    html`<p class="soft">${PARTS.find((each) => each.part === part)?.none}</p>`}
    <ul class="rows">
      ${shown.map(
        (stand) => html`<${Row}
          key=${stand.stop.id}
          stand=${stand}
          object=${objects.get(stand.stop.object)}
          onTakeBack=${onTakeBack}
        />`,
      )}
    </ul>
    ${more > 0 &&
    html`<button type="button" class="button" onClick=${() => setMost(most + SHOWN_AT_ONCE)}>
      Show ${count(more, "more", "more")} of ${grouped(stands.length)}
    </button>`}`;
}

/**
 * @param {object} props
 * @param {Stand} props.stand
 * @param {ObjectRow | undefined} props.object  undefined while it is being read
 * @param {(stand: Stand) => void} props.onTakeBack
 */
function Row({ stand, object, onTakeBack }) {
  const places = usePlaces();
  const { stop, state, examination } = stand;
  const isMissing = state === "missing";
  const href =
    examination && !isMissing ? addressOf(examination) : `#/find?visit=${stop.visit}&object=${stop.object}`;
  return html`<li class="walk-row">
    <a class="row-link" href=${href}>
      <span class="grow">
        <span class="row-name numeral">${object?.accession_number}</span>
        <span class="row-title">${object?.title}</span>
        <span class="soft small">${object && placeOf(object, places)}</span>
        ${isMissing && html`<span class="small as-written">${stop.missing}</span>`}
      </span>
      ${examination && html`<${ExaminationState} examination=${examination} />`}
      ${state === "ahead" && html`<span class="row-end soft small">Ahead</span>`}
    </a>
    ${isMissing &&
    html`<button type="button" class="button" onClick=${() => onTakeBack(stand)}>
      Take it back<span class="visually-hidden">: ${object?.accession_number}</span>
    </button>`}
  </li>`;
}

/**
 * Where an object is to be looked for: "Stores › Room 2 › Drawer 4", or where it went.
 *
 * @param {ObjectRow} object
 * @param {import("../../store/locations.js").Places} places
 */
export function placeOf({ off_site_place, location }, places) {
  return off_site_place || places.words(location);
}

/** @type {Map<string, ObjectRow>} */
const NO_OBJECTS = new Map();

/** @param {string[]} keys */
async function readObjects(keys) {
  const rows = (await db.objects.bulkGet(keys)).filter((row) => row !== undefined);
  return new Map(rows.map((row) => [row.id, row]));
}
