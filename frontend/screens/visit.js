/** One visit: what was examined, what is unfinished, and the next object. */

import { Dialog } from "../components/dialog.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { clock, count, day, dayAndTime, purposeName } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { grade } from "../store/vocabulary.js";
import { save } from "../store/write.js";
import { html, useState } from "../vendor/ui.js";

/**
 * @typedef {import("../store/types.js").ExaminationRow} ExaminationRow
 * @typedef {import("../store/types.js").ObjectRow} ObjectRow
 * @typedef {{examination: ExaminationRow, object: ObjectRow | undefined}} Examined
 */

/** @param {{id: string}} props */
export function Visit({ id }) {
  const read = useLive(() => readVisit(id), [id], undefined);
  const places = usePlaces();
  const [ending, setEnding] = useState(false);
  const [problem, setProblem] = useState("");
  if (!read) return html`<div class="screen"><${TopBar} title="Visit" back="#/visits" /></div>`;
  if (!read.visit) return html`<${NotHere}
      title="Visit"
      what="This visit"
      why="It may belong to someone else, or it has not been received yet. Go back to your visits."
    />`;

  const { visit, examined } = read;
  const unfinished = examined.filter((each) => !each.examination.signed_at);
  const finished = examined.filter((each) => each.examination.signed_at);
  const where = places.words(visit.location) || visit.place;
  const keep = (/** @type {object} */ fields) =>
    save("visit", id, { ...fields }).then(
      () => setProblem(""),
      (/** @type {Error} */ error) => setProblem(error.message),
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
        <p class="visit-numerals">
          <${Figure} n=${finished.length} what="examined" />
          <${Figure} n=${unfinished.length} what="unfinished" />
        </p>
      </div>
      ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
      ${examined.length === 0 &&
      html`<p class="empty">
        <strong>Nothing examined yet.</strong>
        Find the first object: type its number, walk the shelves, or scan its label.
      </p>`}
      ${unfinished.length > 0 &&
      html`<section class="section">
        <h2>Unfinished</h2>
        <${ObjectRows} rows=${unfinished} />
      </section>`}
      ${finished.length > 0 &&
      html`<section class="section">
        <h2>Examined</h2>
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
          : html`<button type="button" class="button" onClick=${() => setEnding(true)}>
                End the visit
              </button>
              <a class="button-next" href=${`#/find?visit=${id}`}>Find an object</a>`}
      </div>
    </footer>
    <${Dialog} title="End this visit?" open=${ending} onClose=${() => setEnding(false)}>
      <p>
        ${unfinished.length
          ? `${count(unfinished.length, "examination")} not signed yet. You can still finish and ` +
            "sign after the visit has ended."
          : "Every examination is signed."}
      </p>
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
  </div>`;
}

function Figure(/** @type {{n: number, what: string}} */ { n, what }) {
  return html`<span><span class="object-number numeral">${n}</span> ${what}</span>`;
}

function ObjectRows(/** @type {{rows: Examined[]}} */ { rows }) {
  return html`<ul class="rows">
    ${rows.map(({ examination, object }) => {
      const signed = examination.signed_at;
      const href = signed ? `#/examination/${examination.id}` : `#/examine/${examination.id}`;
      return html`<li key=${examination.id}>
        <a class="row-link" href=${href}>
          <span class="grow">
            <span class="row-name numeral">${object?.accession_number ?? "Not carried"}</span>
            <span class="row-title">${object?.title}</span>
          </span>
          <span class="row-end">
            ${signed
              ? html`<span class="tag">${grade(examination.grade)?.name ?? "No grade"}</span>
                  <span class="soft small">Signed ${clock(signed)}</span>`
              : html`<span class="tag open">Not signed</span>
                  <span class="soft small">Begun ${day(examination.started_at)}</span>`}
          </span>
        </a>
      </li>`;
    })}
  </ul>`;
}

async function readVisit(/** @type {string} */ id) {
  const visit = await db.visits.get(id);
  const examinations = await db.examinations.where("visit").equals(id).sortBy("started_at");
  const objects = await db.objects.bulkGet(examinations.map((row) => row.object));
  /** @type {Examined[]} */
  const examined = examinations
    .map((examination, index) => ({ examination, object: objects[index] }))
    .reverse();
  return { visit, examined };
}
