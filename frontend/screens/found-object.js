/** One object of the catalogue, its last recorded state, and the way into examining it. */

import { Dialog } from "../components/dialog.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { ObjectLabel } from "../components/object-label.js";
import { Thumbnail } from "../components/thumbnail.js";
import { TopBar } from "../components/top-bar.js";
import { day, named, purposeName } from "../components/wording.js";
import { beginExamination, isUnfinishedOf } from "../store/begin-examination.js";
import { db } from "../store/database.js";
import { lastSigned } from "../store/last-signed.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { session } from "../store/session.js";
import { grade, light, term } from "../store/vocabulary.js";
import { html, useState } from "../vendor/ui.js";

/**
 * @param {object} props
 * @param {string} props.id
 * @param {string} [props.visit]  the visit that the examination will belong to
 * @param {string} props.back
 */
export function FoundObject({ id, visit, back }) {
  const person = session.value?.person.id;
  const read = useLive(() => readObject(id, person), [id, person], undefined);
  const places = usePlaces();
  const [choosing, setChoosing] = useState(false);
  const [problem, setProblem] = useState("");
  if (!read) return html`<div class="screen"><${TopBar} title="Object" back=${back} /></div>`;
  const { object, openVisits, unfinished, last } = read;
  if (!object) return html`<${NotHere}
      title="Object"
      back=${back}
      what="This object"
      why="The device may carry another part of the catalogue. Settings say what is carried."
    />`;

  const goOn = unfinished.find((row) => !visit || row.visit === visit);
  const examineOn = async (/** @type {string} */ visitId) => {
    try {
      location.hash = `#/examine/${await beginExamination(visitId, object)}`;
    } catch (error) {
      setChoosing(false);
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  const examine = () => {
    const only = visit ?? (openVisits.length === 1 ? openVisits[0].id : null);
    if (only) examineOn(only);
    else setChoosing(true);
  };

  return html`<div class="screen">
    <${TopBar} title="Object" back=${back} />
    <main id="main">
      <${ObjectLabel}
        object=${object}
        place=${object.off_site_place || places.words(object.location)}
      />
      <section class="section">
        <h2>Last recorded state</h2>
        ${last
          ? html`<${LastState} last=${last} />`
          : html`<p class="empty">
              <strong>No signed examination is carried.</strong>
              The one you make now may be its first.
            </p>`}
      </section>
      ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
    </main>
    <footer class="actions">
      <div class="row">
        ${goOn
          ? html`<a class="button-next" href=${`#/examine/${goOn.id}`}>Go on examining</a>`
          : html`<button type="button" class="button-next" onClick=${examine}>Examine</button>`}
      </div>
    </footer>
    <${Dialog}
      title="On which visit?"
      open=${choosing}
      onClose=${() => setChoosing(false)}
    >
      ${openVisits.length === 0 &&
      html`<p>An examination belongs to a visit, and no visit is open. Start one first.</p>`}
      <ul class="rows">
        ${openVisits.map(
          (row) => html`<li key=${row.id}>
            <button type="button" class="row-link" onClick=${() => examineOn(row.id)}>
              <span class="grow">
                <span class="row-name">${row.name}</span>
                <span class="soft small">${purposeName(row.purpose)}</span>
              </span>
              <span class="soft" aria-hidden="true">›</span>
            </button>
          </li>`,
        )}
      </ul>
      <div class="row">
        <a class="button" href=${`#/start?object=${id}`}>Start a new visit</a>
      </div>
    </${Dialog}>
  </div>`;
}

/** @typedef {NonNullable<Awaited<ReturnType<typeof readObject>>["last"]>} Last */

function LastState(/** @type {{last: Last}} */ { last }) {
  const { examination, observations, photograph, isAmended } = last;
  const graded = grade(examination.grade);
  return html`<div class="last-state">
    ${photograph &&
    html`<${Thumbnail}
      sha256=${photograph.sha256}
      alt=${`${light(photograph.light)?.name ?? photograph.light}, ${photograph.side}`}
    />`}
    <div class="stack">
      <p>
        <strong class="last-grade">${graded?.name ?? "No grade given"}</strong>
        ${graded && html`<span class="soft">${graded.definition}</span>`}
      </p>
      ${isAmended && html`<p><span class="tag">Amended since it was signed</span></p>`}
      ${observations.length > 0 &&
      html`<ul class="last-terms">
        ${observations.map(
          (row) => html`<li key=${row.id}>
            ${[
              term(row.term)?.name ?? row.term,
              row.nature === "feature" ? "feature" : named("severity", row.severity).toLowerCase(),
              row.side,
            ]
              .filter(Boolean)
              .join(", ")}
          </li>`,
        )}
      </ul>`}
      ${examination.nothing_seen && html`<p>Looked for damage, and saw none.</p>`}
      <p class="soft small">
        ${examination.signed_name}, ${day(examination.signed_at ?? examination.started_at)}
      </p>
      <a class="button" href=${`#/examination/${examination.id}`}>Read it in full</a>
    </div>
  </div>`;
}

/**
 * @param {string} id
 * @param {string | undefined} person
 */
async function readObject(id, person) {
  const [object, visits, examinations, examination] = await Promise.all([
    db.objects.get(id),
    db.visits.orderBy("started_at").reverse().toArray(),
    db.examinations.where("object").equals(id).toArray(),
    lastSigned(id),
  ]);
  const openVisits = visits.filter(
    (row) => !row.ended_at && (!row.person || row.person === person),
  );
  const unfinished = examinations.filter((row) => isUnfinishedOf(row, person));
  if (!examination) return { object, openVisits, unfinished, last: null };
  const [observations, photographs, amendments] = await Promise.all([
    db.observations.where("examination").equals(examination.id).toArray(),
    db.photographs.where("examination").equals(examination.id).toArray(),
    db.amendments.where("examination").equals(examination.id).count(),
  ]);
  const photograph = photographs.find((row) => row.light === "normal") ?? photographs[0];
  const last = { examination, observations, photograph, isAmended: amendments > 0 };
  return { object, openVisits, unfinished, last };
}
