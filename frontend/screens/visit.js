/** One visit: what was examined, what is unfinished, and the next object; its walk, if it has one. */

import { Dialog } from "../components/dialog.js";
import { addressOf, ExaminationState } from "../components/examination-state.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { ObjectLabel } from "../components/object-label.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { NotFound } from "../components/walk/not-found.js";
import { placeOf, WalkList } from "../components/walk/walk-list.js";
import { count, dayAndTime, grouped, purposeName } from "../components/wording.js";
import { beginExamination } from "../store/begin-examination.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { walkOf } from "../store/walk.js";
import { save } from "../store/write.js";
import { html, useState } from "../vendor/ui.js";

/**
 * @typedef {import("../store/types.js").ExaminationRow} ExaminationRow
 * @typedef {import("../store/types.js").ObjectRow} ObjectRow
 * @typedef {import("../store/walk.js").Stand} Stand
 * @typedef {{examination: ExaminationRow, object: ObjectRow | undefined}} Examined
 */

/** @param {{id: string}} props */
export function Visit({ id }) {
  // Apart, so that a letter typed into the note does not read the whole walk anew.
  const read = useLive(async () => ({ visit: await db.visits.get(id) }), [id], undefined);
  const seen = useLive(() => readSeen(id), [id], undefined);
  const places = usePlaces();
  const [ending, setEnding] = useState(false);
  const [isNotFound, setNotFound] = useState(false);
  const [problem, setProblem] = useState("");
  if (!read || !seen) return html`<div class="screen"><${TopBar} title="Visit" back="#/visits" /></div>`;
  if (!read.visit) return html`<${NotHere}
      title="Visit"
      what="This visit"
      why="It may belong to someone else, or it has not been received yet. Go back to your visits."
    />`;

  const { visit } = read;
  const { walk, nextObject, examined, unsigned } = seen;
  const unfinished = examined.filter((each) => !each.examination.signed_at);
  const finished = examined.filter((each) => each.examination.signed_at);
  const isWalk = walk.stands.length > 0;
  const beside = isWalk ? ", beside the walk" : "";
  const next = visit.ended_at ? undefined : walk.next;
  const where = places.words(visit.location) || visit.place;
  const attempt = (/** @type {Promise<unknown>} */ work) =>
    work.then(
      () => setProblem(""),
      (/** @type {Error} */ error) => setProblem(error.message),
    );
  const keep = (/** @type {object} */ fields) => attempt(save("visit", id, { ...fields }));
  const takeBack = (/** @type {Stand} */ { stop }) => attempt(save("stop", stop.id, { missing: "" }));
  const examine = (/** @type {ObjectRow} */ object) =>
    attempt(
      beginExamination(id, object).then((made) => {
        location.hash = `#/examine/${made}`;
      }),
    );

  return html`<div class="screen">
    <${TopBar} title="Visit" back="#/visits" />
    <main id="main">
      <div class="visit-head">
        <p class="soft">${purposeName(visit.purpose)}</p>
        <h2 class="page-title">${visit.name}</h2>
        ${where && html`<p>${where}</p>`}
        <p class="soft">
          ${visit.ended_at
            ? `Ended ${dayAndTime(visit.ended_at)}`
            : `Started ${dayAndTime(visit.started_at)}`}
        </p>
        <p class="visit-numerals" aria-live="polite">
          ${isWalk
            ? html`<${Figure} n=${walk.left.length} what=${`of ${grouped(walk.stands.length)} left`} />`
            : html`<${Figure} n=${finished.length} what="examined" />
                <${Figure} n=${unfinished.length} what="unfinished" />`}
        </p>
      </div>
      ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
      ${isWalk &&
      html`<section class="section walk">
        <h2>The walk</h2>
        ${next &&
        html`<div class="walk-next">
          <div class="walk-next-head">
            <p class="soft">Next, stop ${grouped(next.stop.order)}</p>
            ${next.state === "ahead" &&
            html`<button type="button" class="button" onClick=${() => setNotFound(true)}>
              Not found
            </button>`}
          </div>
          <${ObjectLabel}
            object=${nextObject}
            place=${nextObject && placeOf(nextObject, places)}
            level=${3}
          />
        </div>`}
        ${walk.notCarried > 0 &&
        html`<p class="empty">
          <strong>This device does not carry the whole walk.</strong>
          At least ${count(walk.notCarried, "more object")} of it
          ${walk.notCarried === 1 ? " stands" : " stand"} in other places.${" "}
          <a href="#/settings">See what is carried</a>.
        </p>`}
        <${WalkList} walk=${walk} onTakeBack=${takeBack} />
      </section>`}
      ${!isWalk &&
      examined.length === 0 &&
      html`<p class="empty">
        <strong>Nothing examined yet.</strong>
        Find the first object: type its number, walk the shelves, or scan its label.
      </p>`}
      ${unfinished.length > 0 &&
      html`<section class="section">
        <h2>Unfinished${beside}</h2>
        <${ObjectRows} rows=${unfinished} />
      </section>`}
      ${finished.length > 0 &&
      html`<section class="section">
        <h2>Examined${beside}</h2>
        <${ObjectRows} rows=${finished} />
      </section>`}
      <div class="section">
        <${TextField}
          label="Note on the visit"
          value=${visit.note}
          multiline
          onInput=${(/** @type {string} */ note) => keep({ note })}
          hint="The state of the room, objects that are not in the catalogue, whom you met."
          fieldKey="visit.note"
        />
      </div>
    </main>
    <footer class="actions">
      <div class="row">
        ${visit.ended_at
          ? html`<button type="button" class="button" onClick=${() => keep({ ended_at: null })}>
              Open the visit again
            </button>`
          : html`<button
                type="button"
                class=${isWalk && !next ? "button-next" : "button"}
                onClick=${() => setEnding(true)}
              >
                End the visit
              </button>
              <a class=${isWalk ? "button" : "button-next"} href=${`#/find?visit=${id}`}>
                Find an object
              </a>
              ${next &&
              html`<${NextButton} stand=${next} object=${nextObject} onExamine=${examine} />`}`}
      </div>
    </footer>
    <${Dialog} title="End this visit?" open=${ending} onClose=${() => setEnding(false)}>
      <p>
        ${unsigned
          ? `${count(unsigned, "examination")} not signed yet. You can still finish and ` +
            "sign after the visit has ended."
          : "Every examination is signed."}
      </p>
      ${walk.left.length > 0 &&
      html`<p>
        ${count(walk.left.length, "object")} of the walk ${walk.left.length === 1 ? "is" : "are"} left.
        The visit can be opened again to go on.
      </p>`}
      <div class="row">
        <button type="button" class="button" onClick=${() => setEnding(false)}>Not yet</button>
        <button
          type="button"
          class="button"
          onClick=${async () => {
            setEnding(false);
            await keep({ ended_at: new Date().toISOString() });
          }}
        >
          End the visit
        </button>
      </div>
    </${Dialog}>
    ${next &&
    html`<${NotFound}
      key=${next.stop.id}
      stop=${next.stop}
      number=${nextObject?.accession_number ?? ""}
      open=${isNotFound}
      onClose=${() => setNotFound(false)}
    />`}
  </div>`;
}

/**
 * The one next thing to do on a walk.
 *
 * @param {object} props
 * @param {Stand} props.stand
 * @param {ObjectRow | undefined} props.object  undefined while it is not on the tablet
 * @param {(object: ObjectRow) => void} props.onExamine
 */
function NextButton({ stand: { examination }, object, onExamine }) {
  if (!object) return null;
  if (examination) return html`<a class="button-next" href=${addressOf(examination)}>
    Go on examining <span class="numeral">${object.accession_number}</span>
  </a>`;
  return html`<button type="button" class="button-next" onClick=${() => onExamine(object)}>
    Examine <span class="numeral">${object.accession_number}</span>
  </button>`;
}

function Figure(/** @type {{n: number, what: string}} */ { n, what }) {
  return html`<span><span class="object-number numeral">${grouped(n)}</span> ${what}</span>`;
}

function ObjectRows(/** @type {{rows: Examined[]}} */ { rows }) {
  return html`<ul class="rows">
    ${rows.map(
      ({ examination, object }) => html`<li key=${examination.id}>
        <a class="row-link" href=${addressOf(examination)}>
          <span class="grow">
            <span class="row-name numeral">${object?.accession_number ?? "Not carried"}</span>
            <span class="row-title">${object?.title}</span>
          </span>
          <${ExaminationState} examination=${examination} />
        </a>
      </li>`,
    )}
  </ul>`;
}

/**
 * What was done on a visit, and what is left of its walk. Of the walk's objects only the next one
 * is read: the list reads those that it draws.
 *
 * @param {string} visit
 */
async function readSeen(visit) {
  const [stops, examinations] = await Promise.all([
    db.stops.where({ visit }).toArray(),
    db.examinations.where({ visit }).sortBy("started_at"),
  ]);
  const walk = walkOf(stops, examinations);
  const onWalk = new Set(walk.stands.map(({ examination }) => examination?.id));
  const beside = examinations.filter((row) => !onWalk.has(row.id)).reverse();
  const [objects, nextObject] = await Promise.all([
    db.objects.bulkGet(beside.map(({ object }) => object)),
    walk.next && db.objects.get(walk.next.stop.object),
  ]);
  /** @type {Examined[]} */
  const examined = beside.map((examination, index) => ({ examination, object: objects[index] }));
  const unsigned = examinations.filter(({ signed_at }) => !signed_at).length;
  return { walk, nextObject, examined, unsigned };
}
