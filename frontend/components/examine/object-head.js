/** The object first: what it is, and the state it was in when it was last looked at. */

import { db } from "../../store/database.js";
import { lastSigned } from "../../store/last-signed.js";
import { useLive } from "../../store/live.js";
import { grade, term, vocabulary } from "../../store/vocabulary.js";
import { html } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { ObjectLabel } from "../object-label.js";
import { day, lowerFirst, named } from "../wording.js";

/** @import { ExaminationRow, ObservationRow } from "../../store/types.js" */

const NAMED_AT_MOST = 6;

/** @param {{held: import("./held.js").Held}} props */
export function ObjectHead({ held }) {
  const object = held.object.value;
  const last = useLive(
    () => lastState(object?.id, held.id),
    [object?.id],
    /** @type {{examination: ExaminationRow, seen: ObservationRow[]} | null | undefined} */ (undefined),
  );
  return html`<section class="object-head" aria-label="Object">
    <${ObjectLabel} object=${object} />
    ${!vocabulary.value.version &&
    html`<${Notice} kind="problem">
      <p>
        The lights and the condition terms are not on this device yet. They come the first time it
        receives: open the Sync screen where there is a network, then come back.
      </p>
    <//>`}
    ${object && last !== undefined && html`<${LastState} last=${last} />`}
  </section>`;
}

function LastState(
  /** @type {{last: {examination: ExaminationRow, seen: ObservationRow[]} | null}} */ { last },
) {
  if (!last) {
    return html`<p class="state-then soft">No earlier examination is carried on this device.</p>`;
  }
  const { examination, seen } = last;
  const found = grade(examination.grade);
  return html`<div class="state-then">
    <p>
      <span class="soft">Last recorded state, ${day(examination.started_at)}</span>
      <strong>${found ? `${found.name}.` : "Not graded."}</strong> ${found?.definition}
    </p>
    <p>
      ${examination.nothing_seen && seen.length === 0
        ? "Nothing was seen then."
        : seen.length > 0 && `Seen then: ${inWords(seen)}.`}
    </p>
  </div>`;
}

/** "tear (moderate), foxing (slight) and 3 more" */
function inWords(/** @type {ObservationRow[]} */ seen) {
  const words = seen.slice(0, NAMED_AT_MOST).map((observation) => {
    const name = lowerFirst(term(observation.term)?.name ?? observation.term);
    const more = observation.severity && named("severity", observation.severity).toLowerCase();
    return more ? `${name} (${more})` : name;
  });
  const left = seen.length - words.length;
  return words.join(", ") + (left > 0 ? ` and ${left} more` : "");
}

/** The newest signed examination of the object other than this one, with what was seen. */
async function lastState(/** @type {string | undefined} */ object, /** @type {string} */ but) {
  if (!object) return undefined;
  const examination = await lastSigned(object, but);
  if (!examination) return null;
  return {
    examination,
    seen: await db.observations.where({ examination: examination.id }).sortBy("id"),
  };
}
