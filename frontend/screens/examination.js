/** A signed examination to read, with its amendments below it. */

import { Dialog } from "../components/dialog.js";
import { faultInBrief } from "../components/examine/words.js";
import { lazy } from "../components/lazy.js";
import { LightFigure } from "../components/light-figure.js";
import { NotHere } from "../components/not-here.js";
import { ObjectLabel } from "../components/object-label.js";
import { QuestionCard } from "../components/questions/question-card.js";
import { Thumbnail, useBlobUrl } from "../components/thumbnail.js";
import { TopBar } from "../components/top-bar.js";
import { watermarkFacts, watermarkName } from "../components/watermark-words.js";
import { bytes, dayAndTime, duration, named, sheetSize, shotCheckInWords } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { largestPicture } from "../store/pictures.js";
import { questionsOf } from "../store/questions.js";
import { grade, hazard, kindOfWork, light, term, vocabulary } from "../store/vocabulary.js";
import { html, useEffect, useState } from "../vendor/ui.js";
import { AmendmentForm, AmendmentList, isAmended } from "./amendments.js";

const Compare = lazy(async () => {
  const { withStyles } = await import("../components/examine/on-sheet/parts.js");
  return (await withStyles(import("../components/examine/on-sheet/compare.js"))).CompareRead;
});

/**
 * @typedef {import("../store/types.js").PhotographRow} PhotographRow
 * @typedef {import("../store/types.js").ObservationRow} ObservationRow
 * @typedef {NonNullable<Awaited<ReturnType<typeof readExamination>>>} Whole
 */

/** @param {{id: string}} props */
export function ExaminationView({ id }) {
  const whole = useLive(
    () => readExamination(id),
    [id],
    /** @type {Whole | null | undefined} */ (undefined),
  );
  const places = usePlaces();
  const [amending, setAmending] = useState(false);
  const back = whole?.examination.visit ? `#/visit/${whole.examination.visit}` : "#/visits";
  if (whole === null) return html`<${NotHere}
      title="Examination"
      what="This examination"
      why="It may belong to a part of the catalogue that is not carried."
    />`;
  if (!whole) return html`<div class="screen"><${TopBar} title="Examination" back=${back} /></div>`;

  const { examination, object, visit } = whole;
  const where = places.words(examination.location) || examination.place;
  const signed = examination.signed_at;

  return html`<div class="screen">
    <${TopBar} title="Examination" back=${back} />
    <main id="main" class="wide examination">
      <div class="examination-head">
        <${ObjectLabel} object=${object} place=${where} hasSize=${!measuredSize(examination)} />
        <${Signature} examination=${examination} visit=${visit} />
      </div>
      ${whole.questions.length > 0 &&
      html`<section class="section stack">
        <h2>Open questions</h2>
        ${whole.questions.map((each) => html`<${QuestionCard} key=${each.id} question=${each} />`)}
      </section>`}
      <${Photographs} whole=${whole} />
      <div class="examination-columns">
        <div>
          <${Observations} whole=${whole} />
          <${Words} name="Notes" text=${examination.notes} />
        </div>
        <div>
          <${Findings} whole=${whole} />
          <${WatermarkList} whole=${whole} />
          <${Recommendations} whole=${whole} />
        </div>
      </div>
      ${signed &&
      html`<section class="section">
        <h2>Amendments</h2>
        <${AmendmentList} whole=${whole} />
      </section>`}
    </main>
    <footer class="actions">
      <div class="row">
        ${signed
          ? html`<button type="button" class="button" onClick=${() => setAmending(true)}>
              Add an amendment
            </button>`
          : html`<a class="button-next" href=${`#/examine/${id}`}>Go on examining</a>`}
      </div>
    </footer>
    <${Dialog} title="Add an amendment" open=${amending} onClose=${() => setAmending(false)}>
      <${AmendmentForm} whole=${whole} onDone=${() => setAmending(false)} />
    </${Dialog}>
  </div>`;
}

function Signature(
  /** @type {{examination: Whole["examination"], visit: Whole["visit"]}} */ { examination, visit },
) {
  return html`<div class="signature">
    ${examination.signed_at
      ? html`<p class="soft small">Signed</p>
          <p class="signature-name">${examination.signed_name}</p>
          <p>${dayAndTime(examination.signed_at)}</p>`
      : html`<p><span class="tag open">Not signed</span></p>
          <p class="soft">Begun ${dayAndTime(examination.started_at)}</p>`}
    ${visit && html`<p class="soft small">${visit.name}</p>`}
  </div>`;
}

function Photographs(/** @type {{whole: Whole}} */ { whole }) {
  const { photographs } = whole;
  const [isComparing, setIsComparing] = useState(false);
  const [shown, setShown] = useState(/** @type {PhotographRow | null} */ (null));
  return html`<section class="section">
    <h2>Photographs by light</h2>
    ${photographs.length > 0 &&
    html`<button type="button" class="button compare-button" onClick=${() => setIsComparing(true)}>
      ${photographs.length > 1 ? "Look at the lights together" : "Look at the photograph"}
    </button>`}
    ${isComparing && html`<${Compare} of=${whole} onClose=${() => setIsComparing(false)} />`}
    <ul class="lights-row">
      ${vocabulary.value.lights.map(({ code, name }) => {
        const own = photographs.filter((row) => row.light === code);
        return html`<li key=${code}>
          <h3 class="light-name"><${LightFigure} light=${code} size=${32} /> ${name}</h3>
          ${own.length === 0 && html`<p class="no-photograph">Not photographed</p>`}
          ${own.map(
            (row) => html`<button
              type="button"
              class="photograph"
              key=${row.id}
              onClick=${() => setShown(row)}
            >
              <${Thumbnail} sha256=${row.sha256} alt=${photographInWords(row)} />
              <span class="photograph-words">${photographFacts(row)}</span>
              ${row.trouble && html`<span class="photograph-words">${row.trouble}</span>`}
              ${faultInBrief(row) && html`<span class="photograph-words">${faultInBrief(row)}</span>`}
            </button>`,
          )}
        </li>`;
      })}
    </ul>
    <${Dialog}
      title=${shown ? photographInWords(shown) : "Photograph"}
      open=${shown !== null}
      onClose=${() => setShown(null)}
    >
      ${shown && html`<${LargePicture} photograph=${shown} />`}
    </${Dialog}>
  </section>`;
}

function LargePicture(/** @type {{photograph: PhotographRow}} */ { photograph }) {
  const [picture, setPicture] = useState(/** @type {Blob | null | undefined} */ (undefined));
  useEffect(() => {
    largestPicture(photograph.sha256).then(setPicture);
  }, [photograph.sha256]);
  const url = useBlobUrl(picture ?? null);
  const size =
    photograph.width_px && photograph.height_px
      ? `${photograph.width_px} × ${photograph.height_px} pixels, `
      : "";
  return html`<div class="large-picture">
      ${url && html`<img src=${url} alt=${photographInWords(photograph)} />`}
      ${picture === null &&
      html`<p>The picture is not on this device. Connect to the network to see it.</p>`}
    </div>
    <p class="soft small">
      ${size}${bytes(photograph.size_bytes)}, taken ${dayAndTime(photograph.taken_at)}
    </p>
    ${photograph.caption && html`<p>${photograph.caption}</p>`}
    ${photograph.shot_check && html`<p class="small">${shotCheckInWords(photograph.shot_check)}</p>`}`;
}

function photographFacts(/** @type {PhotographRow} */ row) {
  const side = named("side", row.side);
  return row.azimuth_deg === null ? side : `${side}, from ${Math.round(row.azimuth_deg)}°`;
}

function photographInWords(/** @type {PhotographRow} */ row) {
  return `${light(row.light)?.name ?? row.light}, ${photographFacts(row).toLowerCase()}`;
}

function Observations(/** @type {{whole: Whole}} */ { whole }) {
  const { examination, observations } = whole;
  const groups = vocabulary.value.groups
    .map((group) => ({
      ...group,
      rows: observations.filter((row) => term(row.term)?.group === group.code),
    }))
    .filter((group) => group.rows.length);
  const others = observations.filter((row) => !term(row.term));
  if (others.length) groups.push({ code: "", name: "Others", definition: "", rows: others });
  return html`<section class="section">
    <h2>What was seen</h2>
    ${examination.nothing_seen &&
    html`<p class="statement">The examiner looked for damage and saw none.</p>`}
    ${observations.length === 0 &&
    !examination.nothing_seen &&
    html`<p class="soft">Nothing was ticked, and it was not said that nothing was seen.</p>`}
    ${groups.map(
      (group) => html`<div class="observation-group" key=${group.code}>
        <h3>${group.name}</h3>
        <ul>
          ${group.rows.map((row) => html`<${Observation} key=${row.id} row=${row} whole=${whole} />`)}
        </ul>
      </div>`,
    )}
  </section>`;
}

function Observation(/** @type {{row: ObservationRow, whole: Whole}} */ { row, whole }) {
  const found = term(row.term);
  const facts = [
    row.nature === "damage" ? named("severity", row.severity) : named("nature", row.nature),
    named("extent", row.extent),
    named("side", row.side),
  ].filter(Boolean);
  return html`<li class="observation">
    <p class="observation-name">
      <strong>${found?.name ?? row.term}</strong>
      ${found?.retired && html`<span class="tag">Term no longer offered</span>`}
      ${isAmended(whole, `observation:${row.id}`) && html`<span class="tag">Amended below</span>`}
    </p>
    <p>${facts.join(" · ")}</p>
    ${row.nature === "damage" &&
    found?.hazards.map(
      (code) =>
        html`<p><span class="tag alarm">Cannot wait: ${hazard(code)?.name ?? code}</span></p>`,
    )}
    ${row.note && html`<p class="as-written">${row.note}</p>`}
    ${row.lights.length > 0 &&
    html`<ul class="guide-term-lights" aria-label="Lights that show it">
      ${row.lights.map(
        (code) => html`<li>
          <${LightFigure} light=${code} size=${32} /> ${light(code)?.name ?? code}
        </li>`,
      )}
    </ul>`}
  </li>`;
}

function Findings(/** @type {{whole: Whole}} */ { whole }) {
  const { examination, measurements } = whole;
  const graded = grade(examination.grade);
  const size = measuredSize(examination);
  return html`<section class="section">
    <h2>Overall grade</h2>
    <p class="big-word">${graded?.name ?? "Not given"}</p>
    ${isAmended(whole, "examination", "grade") && html`<p><span class="tag">Amended below</span></p>`}
    ${graded && html`<p class="soft">${graded.definition}</p>`}
    <dl class="facts">
      ${size &&
      html`<div>
        <dt>Sheet measured, height × width</dt>
        <dd class="numeral">${size} <span class="soft">± ${examination.sheet_uncertainty_mm} mm each</span></dd>
      </div>`}
      ${examination.mount && html`<div><dt>Mount</dt><dd>${examination.mount}</dd></div>`}
      <div>
        <dt>Verso</dt>
        <dd>${named("verso_seen", examination.verso_seen) || "Not said"}</dd>
      </div>
      <div>
        <dt>Place</dt>
        <dd>${examination.location_confirmed ? "Confirmed on the spot" : "Not confirmed"}</dd>
      </div>
      ${examination.lamp_s > 0 &&
      html`<div>
        <dt>Under the ultraviolet lamp</dt>
        <dd class="numeral">
          ${duration(examination.lamp_s)}
          ${isAmended(whole, "examination", "lamp_s") && html`<span class="tag">Amended below</span>`}
        </dd>
      </div>`}
      ${measurements.map(
        (row) => html`<div key=${row.id}>
          <dt>${row.what}</dt>
          <dd class="numeral">
            ${row.value} <span class="soft">± ${row.uncertainty}</span>
            ${row.unit === "mm2" ? " mm²" : " mm"}
          </dd>
        </div>`,
      )}
    </dl>
  </section>`;
}

/** "235 × 154.5 mm", or "" when it was not measured. */
function measuredSize(/** @type {Whole["examination"]} */ { sheet_height_mm, sheet_width_mm }) {
  return sheetSize(sheet_height_mm, sheet_width_mm);
}

function WatermarkList(/** @type {{whole: Whole}} */ { whole }) {
  if (!whole.watermarks.length) return null;
  return html`<section class="section">
    <h2>Watermarks</h2>
    ${whole.watermarks.map(
      (row) => html`<div class="watermark" key=${row.id}>
        <h3>${watermarkName(row)}</h3>
        ${isAmended(whole, `watermark:${row.id}`) && html`<p><span class="tag">Amended below</span></p>`}
        <dl class="facts">
          ${watermarkFacts(row).map(
            ([name, words]) => html`<div key=${name}><dt>${name}</dt><dd class="numeral">${words}</dd></div>`,
          )}
        </dl>
        ${row.note && html`<p class="as-written">${row.note}</p>`}
      </div>`,
    )}
  </section>`;
}

function Recommendations(/** @type {{whole: Whole}} */ { whole }) {
  return html`<section class="section">
    <h2>Recommendation</h2>
    ${whole.recommendations.length === 0 && html`<p class="soft">None given.</p>`}
    ${whole.recommendations.map(
      (row) => html`<div class="recommendation" key=${row.id}>
        <p>
          <strong>${kindOfWork(row.kind_of_work)?.name ?? row.kind_of_work}</strong>
          ${row.hours !== null &&
          html`<span class="numeral"> about ${row.hours} ${row.hours === 1 ? "hour" : "hours"}</span>`}
        </p>
        ${row.hazards.map(
          (code) =>
            html`<p><span class="tag alarm">Cannot wait: ${hazard(code)?.name ?? code}</span></p>`,
        )}
        ${row.note && html`<p class="as-written">${row.note}</p>`}
      </div>`,
    )}
  </section>`;
}

function Words(/** @type {{name: string, text: string}} */ { name, text }) {
  if (!text) return null;
  return html`<section class="section">
    <h2>${name}</h2>
    <p class="as-written">${text}</p>
  </section>`;
}

/** An examination with all that hangs on it; null when the tablet does not have it. */
async function readExamination(/** @type {string} */ id) {
  const examination = await db.examinations.get(id);
  if (!examination) return null;
  const [
    object,
    visit,
    photographs,
    observations,
    measurements,
    recommendations,
    watermarks,
    amendments,
    questions,
  ] = await Promise.all([
    db.objects.get(examination.object),
    db.visits.get(examination.visit),
    db.photographs.where("examination").equals(id).sortBy("taken_at"),
    db.observations.where("examination").equals(id).sortBy("id"),
    db.measurements.where("examination").equals(id).sortBy("id"),
    db.recommendations.where("examination").equals(id).sortBy("id"),
    db.watermarks.where("examination").equals(id).sortBy("id"),
    db.amendments.where("examination").equals(id).sortBy("signed_at"),
    questionsOf(id),
  ]);
  return {
    examination,
    object,
    visit,
    photographs,
    observations,
    measurements,
    recommendations,
    watermarks,
    amendments,
    questions,
  };
}
