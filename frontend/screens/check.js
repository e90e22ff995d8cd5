/** The check of one object on a loan, one thing at a time, from the crate to the signature. */

import { AnswerBar } from "../components/check/answer-bar.js";
import { EarlierPicture, placeInPixels } from "../components/check/earlier-picture.js";
import { nextOpen, openOf, readCheck } from "../components/check/data.js";
import { PointsList } from "../components/check/points-list.js";
import { Unpacking, unpackingName } from "../components/check/unpacking.js";
import { takeInHand } from "../components/examine/held.js";
import { nameOf } from "../components/examine/on-sheet/data.js";
import { withStyles } from "../components/examine/on-sheet/parts.js";
import { Stage } from "../components/examine/stage.js";
import { observationInWords, termName } from "../components/examine/words.js";
import { lazy } from "../components/lazy.js";
import { checkName } from "../components/loan/words.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { TopBar } from "../components/top-bar.js";
import { count, day, lowerFirst, optionsOf } from "../components/wording.js";
import { useLive } from "../store/live.js";
import { answerPoint, linkPhotograph } from "../store/loans/answers.js";
import { save } from "../store/write.js";
import { html, useEffect, useMemo, useState } from "../vendor/ui.js";
import { AmendmentList } from "./amendments.js";

/** @import { LoanCheckRow } from "../store/types.js" */
/** @import { Answer } from "../store/loans/answers.js" */
/** @typedef {ReturnType<typeof import("../components/check/now-photograph.js").asThen>} Then */
/** @typedef {(step: string, point?: string) => string} Href */
/** @import { Held } from "../components/examine/held.js" */
/** @import { CheckData, Point } from "../components/check/data.js" */
/** @import { Earlier } from "../components/check/earlier-pictures.js" */

const PointView = lazy(
  async () => (await withStyles(import("../components/check/point-view.js"))).PointView,
);
const CompareThenNow = lazy(
  async () => (await withStyles(import("../components/check/compare-then-now.js"))).CompareThenNow,
);
const PhotographTask = lazy(
  async () => (await withStyles(import("../components/examine/on-sheet/task.js"))).PhotographTask,
);
const LiveCamera = lazy(
  async () => (await import("../components/examine/live-camera.js")).LiveCamera,
);

const STEPS = ["unpacking", "points", "found", "sign"];

/**
 * @param {object} props
 * @param {string} props.id
 * @param {string} [props.step]  one of STEPS
 * @param {string} [props.point]  key of the known observation that is looked at
 */
export function Check({ id, step = STEPS[0], point }) {
  const data = useLive(
    () => readCheck(id),
    [id],
    /** @type {CheckData | null | undefined} */ (undefined),
  );
  const examination = data?.examination.id;
  const isSigned = Boolean(data?.check.statement);
  useEffect(() => {
    if (isSigned) location.replace(`#/check-report/${id}`);
  }, [isSigned]);
  if (data === null) return html`<${NotHere}
      title="Check"
      what="This check"
      why="It may belong to a loan that is not carried, or not have been received yet."
    />`;
  if (!data || !examination || isSigned) {
    return html`<div class="screen"><${TopBar} title="Check" /></div>`;
  }
  return html`<${InHand} key=${examination} data=${data} step=${step} pointId=${point} />`;
}

/** @param {{data: CheckData, step: string, pointId: string | undefined}} props */
function InHand({ data, step, pointId }) {
  const { check, examination, object, points } = data;
  const held = useMemo(() => takeInHand(examination.id), [examination.id]);
  const [ready, setReady] = useState(false);
  const [problem, setProblem] = useState("");
  // Key of the point that is about to be left open, until a reason is given.
  const [leaving, setLeaving] = useState("");
  useEffect(() => {
    held.ready.then(() => setReady(true));
    return () => held.letGo();
  }, [held]);
  useEffect(() => {
    scrollTo(0, 0);
    const heading = /** @type {HTMLElement | null} */ (document.querySelector("main h2"));
    heading?.focus({ preventScroll: true });
  }, [step, pointId]);

  const open = openOf(data);
  const shown = points.find(({ known }) => known.id === pointId) ?? null;
  const href = (/** @type {string} */ to, /** @type {string} */ of = "") =>
    `#/check/${check.id}?step=${to}${of && `&point=${of}`}`;
  const tried = (/** @type {Promise<unknown>} */ step) =>
    step.then(
      () => setProblem(""),
      (/** @type {Error} */ error) => setProblem(error.message),
    );
  const change = (/** @type {Partial<LoanCheckRow>} */ fields) =>
    tried(save("loan_check", check.id, fields));
  const answer = async (/** @type {Point} */ point, /** @type {Answer} */ picked) => {
    const asked = location.hash;
    setLeaving(picked === "" ? point.known.id : "");
    await tried(answerPoint(check, point.known, picked));
    const next = nextOpen(points, point.known.id);
    // The person may have gone on by themselves while it was saved.
    if (location.hash !== asked) return;
    if (picked === "same") location.hash = next ? href("points", next.known.id) : href("points");
    // What is to be said next is drawn a moment later.
    else setTimeout(() => document.querySelector('[data-part="reason"]')?.scrollIntoView({ block: "center" }), 100);
  };
  const title = `${checkName(check)} ${object?.accession_number ?? ""}`.trim();

  return html`<div class="screen check">
    <${TopBar} title=${title} back=${`#/loan/${check.loan}`} />
    <nav class="check-steps" aria-label="Steps of the check">
      ${STEPS.map(
        (each) => html`<a
          key=${each}
          class="button way"
          href=${href(each)}
          aria-current=${each === step ? "page" : undefined}
        >
          <span>${stepName(each, check.stage)}</span>
          <span class="small soft">${stepState(each, data)}</span>
        </a>`,
      )}
    </nav>
    <main id="main" class=${step === "points" && shown ? "wide" : ""}>
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
      ${held.problem.value && html`<${Notice} kind="problem">
        <p>${held.problem.value}</p>
        <button type="button" class="button" onClick=${() => held.retry()}>Save again</button>
      <//>`}
      ${step === "unpacking" &&
      html`<h2 tabindex="-1">${unpackingName(check.stage)}</h2>
        ${ready && html`<${Unpacking} held=${held} data=${data} onChange=${change} />`}`}
      ${step === "points" &&
      html`<${Points}
        held=${held}
        data=${data}
        shown=${shown}
        isLeaving=${leaving !== "" && leaving === shown?.known.id}
        href=${href}
      />`}
      ${step === "found" && html`<${Found} data=${data} />`}
      ${step === "sign" && html`<${BeforeSigning} data=${data} href=${href} />`}
    </main>
    ${step === "points" && shown
      ? html`<${AnswerBar}
          point=${shown}
          isLeaving=${leaving === shown.known.id}
          onAnswer=${(/** @type {Answer} */ picked) => answer(shown, picked)}
          ...${ways(points, shown, href)}
        />`
      : html`<${Foot} data=${data} step=${step} open=${open} href=${href} />`}
  </div>`;
}

/** @param {string} step @param {LoanCheckRow["stage"]} stage */
function stepName(step, stage) {
  if (step === "unpacking") return unpackingName(stage);
  return { points: "Points", found: "New", sign: "Sign" }[step] ?? step;
}

/** @param {string} step @param {CheckData} data */
function stepState(step, data) {
  const { points, found } = data;
  const left = openOf(data).length;
  if (step === "points") return points.length === 0 ? "none known" : left ? `${left} of ${points.length} left` : "all done";
  if (step === "found") return found.length ? `${found.length} found` : "none yet";
  if (step === "sign") return left ? "not yet" : "ready";
  return said(data) ? `${said(data)} filled in` : "not yet";
}

/** How many of the conditions were filled in. @param {CheckData} data */
function said({ check }) {
  const { seals, seals_whole, hours_acclimatised, logger, temperature_c, humidity_percent, glazing } = check;
  return [seals, seals_whole, hours_acclimatised, logger, temperature_c, humidity_percent, glazing].filter(
    (each) => each !== "" && each !== null,
  ).length;
}

/** @param {{held: Held, data: CheckData, shown: Point | null, isLeaving: boolean, href: Href}} props */
function Points({ held, data, shown, isLeaving, href }) {
  const { check, points } = data;
  const [comparing, setComparing] = useState(/** @type {Earlier | null} */ (null));
  // The new photograph is placed on the sheet, and then compared further.
  const [isPlacing, setIsPlacing] = useState(false);
  const [ghost, setGhost] = useState(/** @type {Earlier | null} */ (null));
  const left = openOf(data).length;
  if (!shown) {
    return html`<h2 tabindex="-1">Known points</h2>
      <${PointCount} left=${left} of=${points.length} />
      ${points.length === 0 &&
      html`<p class="empty">
        <strong>Nothing was known before.</strong>
        ${data.earlier
          ? "The last signed state names nothing that was seen on the sheet. Go on to what is new."
          : "No signed state of the object is carried. Record what you see under what is new."}
      </p>`}
      <${PointsList} points=${points} href=${(/** @type {Point} */ { known }) => href("points", known.id)} />
      <${AddedSince} data=${data} />`;
  }
  const at = points.indexOf(shown);
  const openCamera = (/** @type {Earlier | null} */ earlier, /** @type {Then} */ then) => {
    setGhost(earlier);
    held.view.side.value = then.side;
    held.view.azimuth.value = then.azimuth_deg;
    held.view.camera.value = then.light;
  };
  return html`<div class="point-head">
      <h2 tabindex="-1">Point ${at + 1} of ${points.length}</h2>
      <p class="numeral" role="status">${left} of ${points.length} left</p>
    </div>
    <${PointView}
      held=${held}
      data=${data}
      point=${shown}
      isLeaving=${isLeaving}
      onCamera=${openCamera}
      onCompare=${setComparing}
    />
    ${comparing &&
    shown.photograph &&
    isPlacing &&
    html`<${Stage} label="Set the sheet’s corners" onClose=${() => setIsPlacing(false)}>
      <${PhotographTask}
        held=${held}
        photograph=${shown.photograph}
        observation=${null}
        task=${{ do: "corners" }}
        onDone=${() => setIsPlacing(false)}
      />
    <//>`}
    ${comparing &&
    shown.photograph &&
    !isPlacing &&
    html`<${CompareThenNow}
      known=${shown.known}
      earlier=${comparing}
      now=${shown.photograph}
      onPlace=${() => setIsPlacing(true)}
      onClose=${() => setComparing(null)}
    />`}
    ${held.view.camera.value &&
    html`<${LiveCamera}
      held=${held}
      ghost=${ghost && {
        sha256: ghost.photograph.sha256,
        words: `${nameOf(ghost.photograph)}, ${day(ghost.examination.started_at)}`,
        width_px: ghost.photograph.width_px,
        height_px: ghost.photograph.height_px,
        place: placeInPixels(shown.known, ghost.photograph),
      }}
      beside=${ghost && html`<${EarlierPicture} known=${shown.known} earlier=${ghost} />`}
      onKept=${(/** @type {string} */ id) => linkPhotograph(check, shown.known.id, id)}
    />`}`;
}

function PointCount(/** @type {{left: number, of: number}} */ { left, of }) {
  if (of === 0) return null;
  return html`<p class="point-count" role="status">
    <span class="object-number numeral">${left}</span> of ${of} left
  </p>`;
}

/**
 * Where one may go from a point: to its neighbours, and to the next one that is open.
 *
 * @param {Point[]} points @param {Point} from @param {Href} href
 */
function ways(points, from, href) {
  const at = points.indexOf(from);
  const to = (/** @type {Point | undefined} */ point) => href("points", point?.known.id);
  const next = nextOpen(points, from.known.id);
  return {
    before: to(points[at - 1]),
    after: to(points[at + 1]),
    next: next ? to(next) : href("points"),
    isLast: !next,
  };
}

/** What was added to the earlier state once it was signed: no point asks about it. */
function AddedSince(/** @type {{data: CheckData}} */ { data: { earlier, points, since } }) {
  if (!earlier || since.length === 0) return null;
  const known = { examination: earlier, observations: points.map((point) => point.known), watermarks: [] };
  return html`<section class="stack" aria-labelledby="since">
    <h2 id="since">Added since the earlier state was signed</h2>
    <p>Look for this too. What was added and is no point yet is recorded as new, if you see it.</p>
    <${AmendmentList} whole=${{ ...known, amendments: since }} />
  </section>`;
}

function Found(/** @type {{data: CheckData}} */ { data }) {
  const { examination, found } = data;
  return html`<h2 tabindex="-1">What is new</h2>
    <div class="stack">
      <p>
        Go over the sheet once more for what nobody has recorded yet. It is recorded as in any
        examination: photographs by light, the checklist of terms, measurements.
      </p>
      ${found.length > 0 &&
      html`<ul class="rows">
        ${found.map(
          (row) => html`<li class="venue" key=${row.id}>
            <span class="row-name">${termName(row)}</span>
            <span class="soft small">${observationInWords(row)}</span>
            ${row.note && html`<span class="small as-written">${row.note}</span>`}
          </li>`,
        )}
      </ul>`}
      <a class="button big" href=${`#/examine/${examination.id}`}>
        ${found.length ? "Record more" : "Record something new"}
      </a>
      <${AddedSince} data=${data} />
    </div>`;
}

/** @param {{data: CheckData, href: Href}} props */
function BeforeSigning({ data, href }) {
  const { points, found } = data;
  const open = openOf(data);
  const answered = (/** @type {string} */ answer) =>
    points.filter((point) => point.isSettled && (point.answer?.answer ?? "") === answer).length;
  return html`<h2 tabindex="-1">Sign</h2>
    <div class="stack">
      ${open.length > 0 &&
      html`<${Notice} kind="problem">
          <p>
            <strong>${count(open.length, "point")} still open.</strong> Answer each of them, or leave
            it open with a reason. Then the check can be signed.
          </p>
        <//>
        <${PointsList} points=${open} href=${(/** @type {Point} */ { known }) => href("points", known.id)} />`}
      ${points.length > 0 &&
      html`<dl class="facts">
        ${optionsOf("answer").map(
          ({ value, label }) => html`<div key=${value}>
            <dt>${label}</dt>
            <dd class="numeral">${answered(value)} of ${points.length}</dd>
          </div>`,
        )}
        <div><dt>New</dt><dd class="numeral">${found.length}</dd></div>
      </dl>`}
      ${said(data) === 0 &&
      html`<p><span class="tag open">May stay open</span> No conditions are filled in.</p>`}
      <p class="soft">
        Signing fixes the check with its points, conditions and photographs. What is found later is
        added as an amendment.
      </p>
    </div>`;
}

/** @param {{data: CheckData, step: string, open: Point[], href: Href}} props */
function Foot({ data: { check, points }, step, open, href }) {
  const first = href("points", open[0]?.known.id);
  const ways = /** @type {Record<string, [to: string, words: string]>} */ ({
    unpacking: [first, points.length ? `Points: ${open.length} left` : "Go on"],
    points: open.length ? [first, "Next open point"] : [href("found"), "What is new"],
    found: [href("sign"), "Go on to sign"],
    sign: [`#/sign/${check.id}`, `Sign the ${lowerFirst(checkName(check))}`],
  });
  const [to, words] = ways[step] ?? ways.points;
  return html`<footer class="actions">
    <div class="row">
      ${step === "sign" && open.length
        ? html`<button type="button" class="button-next" disabled>
            ${count(open.length, "point")} open: not yet
          </button>`
        : html`<a class="button-next" href=${to}>${words}</a>`}
    </div>
  </footer>`;
}
