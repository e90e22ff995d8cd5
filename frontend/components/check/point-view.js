/** One known point: how it was, and what is to be said of how it is. */

import { useLive } from "../../store/live.js";
import { giveReason, linkPhotograph } from "../../store/loans/answers.js";
import { term as termOf } from "../../store/vocabulary.js";
import { html, useState } from "../../vendor/ui.js";
import { Fold } from "../examine/fold.js";
import { TermMeaning } from "../examine/term-meaning.js";
import { nameOf } from "../examine/on-sheet/data.js";
import { observationInWords, termName } from "../examine/words.js";
import { Notice } from "../notice.js";
import { day } from "../wording.js";
import { Changed } from "./changed.js";
import { EarlierPicture } from "./earlier-picture.js";
import { earlierPictures } from "./earlier-pictures.js";
import { NowPhotograph } from "./now-photograph.js";
import { Reason, usualReasons } from "./reason.js";

/** @import { Held } from "../examine/held.js" */
/** @import { CheckData, Point } from "./data.js" */
/** @import { Earlier } from "./earlier-pictures.js" */

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {CheckData} props.data
 * @param {Point} props.point
 * @param {boolean} props.isLeaving  it is about to be left open
 * @param {(earlier: Earlier | null, then: ReturnType<typeof import("./now-photograph.js").asThen>) => void} props.onCamera
 * @param {(earlier: Earlier) => void} props.onCompare
 */
export function PointView({ held, data, point, isLeaving, onCamera, onCompare }) {
  const { check } = data;
  const { known, answer } = point;
  const pictures = useLive(() => earlierPictures(known), [known.id], /** @type {Earlier[] | null} */ (null));
  const [chosen, setChosen] = useState("");
  const [problem, setProblem] = useState("");
  const earlier = pictures?.find(({ photograph }) => photograph.id === chosen) ?? pictures?.[0] ?? null;
  const given = answer?.answer ?? "";
  const isLeft = !given && (isLeaving || point.isSettled);
  const term = termOf(known.term);

  const tried = (/** @type {Promise<unknown>} */ step) =>
    step.then(
      () => setProblem(""),
      (/** @type {Error} */ error) => setProblem(error.message),
    );
  const explain = (/** @type {string} */ words) => tried(giveReason(check, known.id, words));

  return html`<div class="point">
    <div class="point-earlier">
      ${earlier
        ? html`<${EarlierPicture} key=${`${known.id} ${earlier.photograph.id}`} known=${known} earlier=${earlier} />
            <${PickEarlier} pictures=${pictures ?? []} value=${earlier.photograph.id} onPick=${setChosen} />`
        : pictures && html`<p class="no-photograph">It was not photographed.</p>`}
    </div>
    <div class="stack">
      <div class="point-words">
        <h3>${termName(known)}</h3>
        <p>${observationInWords(known)}</p>
        ${known.note && html`<p class="as-written">${known.note}</p>`}
        ${earlier &&
        html`<p class="soft small">
          Recorded ${day(earlier.examination.started_at)} by ${earlier.examination.signed_name || earlier.examination.examiner_name}
        </p>`}
      </div>
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
      ${given === "changed" && html`<${Changed} held=${held} point=${point} onReason=${explain} />`}
      ${given === "not-visible" &&
      html`<${Reason}
        key=${`${known.id} unseen`}
        label="Why can it not be seen?"
        value=${answer?.reason ?? ""}
        usual=${usualReasons("unseen", known.side)}
        onReason=${explain}
      />`}
      ${isLeft &&
      html`<${Reason}
        key=${`${known.id} left`}
        label="Why is it left open?"
        value=${answer?.reason ?? ""}
        usual=${usualReasons("left", known.side)}
        onReason=${explain}
      />`}
      <${NowPhotograph}
        held=${held}
        point=${point}
        earlier=${earlier}
        onCamera=${onCamera}
        onCompare=${onCompare}
        onKept=${(/** @type {string | null} */ id) => tried(linkPhotograph(check, known.id, id))}
      />
      ${term && html`<${Fold} name="What the term means"><${TermMeaning} term=${term} /><//>`}
    </div>
  </div>`;
}

/** Another photograph of that time, or of an earlier one. */
function PickEarlier(
  /** @type {{pictures: Earlier[], value: string, onPick: (id: string) => void}} */ { pictures, value, onPick },
) {
  const [only] = pictures;
  const words = (/** @type {Earlier} */ { photograph, examination }) => `${nameOf(photograph)}, ${day(examination.started_at)}`;
  if (pictures.length === 1) return html`<p class="soft small">${words(only)}</p>`;
  return html`<label class="pick-earlier">
    <span class="visually-hidden">Earlier photograph</span>
    <select
      value=${value}
      onChange=${(/** @type {{currentTarget: HTMLSelectElement}} */ { currentTarget }) => onPick(currentTarget.value)}
    >
      ${pictures.map(
        (each) => html`<option
          key=${each.photograph.id}
          value=${each.photograph.id}
          selected=${each.photograph.id === value}
        >
          ${words(each)}
        </option>`,
      )}
    </select>
  </label>`;
}
