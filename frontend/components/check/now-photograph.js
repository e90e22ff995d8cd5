/** The point photographed now, in the light of then, and laid beside the earlier photograph. */

import { light as lightOf } from "../../store/vocabulary.js";
import { html, useState } from "../../vendor/ui.js";
import { CaptureButtons } from "../examine/capture-buttons.js";
import { captureWords } from "../examine/light-slot.js";
import { ShotChecks } from "../examine/shot-checks.js";
import { ShotsWithoutRoom } from "../examine/shots-without-room.js";
import { Notice } from "../notice.js";
import { Thumbnail } from "../thumbnail.js";
import { lowerFirst } from "../wording.js";
import { isOfItsSide } from "./earlier-pictures.js";

/** @import { Held } from "../examine/held.js" */
/** @import { Point } from "./data.js" */
/** @import { Earlier } from "./earlier-pictures.js" */

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {Point} props.point
 * @param {Earlier | null} props.earlier
 * @param {(earlier: Earlier | null, then: ReturnType<typeof asThen>) => void} props.onCamera
 * @param {(earlier: Earlier) => void} props.onCompare
 * @param {(photograph: string) => void} props.onKept
 */
export function NowPhotograph({ held, point, earlier, onCamera, onCompare, onKept }) {
  const [refusals, setRefusals] = useState(/** @type {string[]} */ ([]));
  const then = asThen(point, earlier);
  const { light, side, azimuth_deg } = then;
  const isLikeThen = earlier !== null && isOfItsSide(point.known, earlier);
  const found = lightOf(light);
  if (!found) return null;
  const what = captureWords(found, side, azimuth_deg);
  const keep = async (
    /** @type {File[]} */ files,
    /** @type {import("../../store/types.js").PhotographRow | undefined} */ again,
  ) => {
    setRefusals([]);
    for (const file of files) {
      try {
        await held.photograph({ light, azimuth_deg, side, file, again: again?.id, onKept });
      } catch (error) {
        setRefusals((before) => [...before, error instanceof Error ? error.message : String(error)]);
      }
    }
  };
  return html`<section class="inset stack" aria-label="Photograph it as it is now">
    ${isLikeThen
      ? html`<p>
          <strong>Same light as then: ${lowerFirst(what)}.</strong>${" "}
          <span class="soft">Light and exposure alone can look like a change.</span>
        </p>`
      : html`<p>
          It was not photographed from this side. A photograph of now helps whoever looks next.
        </p>`}
    ${point.photograph &&
    html`<div class="now-shot">
      <${Thumbnail} sha256=${point.photograph.sha256} alt=${`Now, ${lowerFirst(what)}`} />
      ${isLikeThen &&
      html`<button type="button" class="button big" onClick=${() => onCompare(earlier)}>
        Compare then and now
      </button>`}
    </div>`}
    <${CaptureButtons}
      what=${what}
      light=${light}
      onFiles=${keep}
      onLiveView=${() => onCamera(isLikeThen ? earlier : null, then)}
    />
    <${ShotChecks} held=${held} light=${light} onFiles=${keep} />
    <${ShotsWithoutRoom} held=${held} light=${light} />
    ${refusals.map((sentence) => html`<${Notice} kind="problem"><p>${sentence}</p><//>`)}
  </section>`;
}

/**
 * Under which light a point is photographed: that of the earlier photograph of its side, else one
 * that shows it.
 *
 * @param {Pick<Point, "known">} point
 * @param {Earlier | null} earlier
 * @returns {{light: string, side: import("../../store/types.js").Side, azimuth_deg: number | null}}
 */
export function asThen({ known }, earlier) {
  if (earlier && isOfItsSide(known, earlier)) {
    const { light, side, azimuth_deg } = earlier.photograph;
    return { light, side, azimuth_deg };
  }
  const light = known.lights.find((code) => !lightOf(code)?.has_azimuth) ?? "normal";
  return { light, side: known.side, azimuth_deg: null };
}
