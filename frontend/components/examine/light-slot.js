/** The slot of one light: what it is for, how to set it up, its photographs, the way to more. */

import { html, useState } from "../../vendor/ui.js";
import { Caution } from "../caution.js";
import { lazy } from "../lazy.js";
import { LightFigure } from "../light-figure.js";
import { Notice } from "../notice.js";
import { Thumbnail } from "../thumbnail.js";
import { count, lowerFirst, named } from "../wording.js";
import { isRunning } from "./lamp.js";
import { Fold } from "./fold.js";
import { ShotsWithoutRoom } from "./shots-without-room.js";
import { faultInBrief, photographInWords } from "./words.js";

const LampTimer = lazy(async () => (await import("./lamp-timer.js")).LampTimer);
const ShotChecks = lazy(async () => (await import("./shot-checks.js")).ShotChecks);
const CaptureButtons = lazy(async () => (await import("./capture-buttons.js")).CaptureButtons);
const AzimuthDial = lazy(async () => (await import("./azimuth-dial.js")).AzimuthDial);

/** @import { Light, PhotographRow } from "../../store/types.js" */

/** Cautions so grave that they stand open before the shot; others fold. */
const STAND_OPEN = ["ultraviolet", "transmitted-heat"];

/** @param {{held: import("./held.js").Held, light: Light}} props */
export function LightSlot({ held, light }) {
  const [keeping, setKeeping] = useState(0);
  const [warnings, setWarnings] = useState(/** @type {string[]} */ ([]));
  const [refusals, setRefusals] = useState(/** @type {string[]} */ ([]));
  const { view } = held;
  const open = view.light.value === light.code;
  const shots = held.photographs.value.filter((photograph) => photograph.light === light.code);

  const forget = () => {
    setWarnings([]);
    setRefusals([]);
  };
  const keep = async (/** @type {File[]} */ files, /** @type {PhotographRow | undefined} */ again) => {
    forget();
    for (const file of files) {
      setKeeping((n) => n + 1);
      try {
        const said = await held.photograph(held.shot(light.code, file, again));
        setWarnings((before) => [...before, ...said]);
      } catch (error) {
        const sentence = error instanceof Error ? error.message : String(error);
        setRefusals((before) => [...before, file.name ? `${file.name}: ${sentence}` : sentence]);
      } finally {
        setKeeping((n) => n - 1);
      }
    }
  };

  const toggle = () => {
    view.light.value = open ? null : light.code;
    if (light.has_azimuth && view.azimuth.value === null) {
      view.azimuth.value = shots.at(-1)?.azimuth_deg ?? null;
    }
  };

  return html`<li class="light-slot">
    <h3>
      <button
        type="button"
        class="light-slot-head"
        aria-expanded=${open}
        data-field=${`light:${light.code}`}
        onClick=${toggle}
      >
        <${LightFigure} light=${light.code} size=${56} />
        <span class="grow">
          <span class="light-slot-name">
            ${light.name}
            <span class=${`tag ${shots.length ? "" : "open"}`}>
              ${shots.length ? count(shots.length, "photograph") : "None yet"}
            </span>
          </span>
          <span class="light-slot-purpose soft small">${light.purpose}</span>
        </span>
      </button>
    </h3>
    ${(shots.length > 0 || keeping > 0) &&
    html`<ul class="shots" aria-label=${`Photographs, ${lowerFirst(light.name)}`}>
      ${shots.map(
        (shot) => html`<li key=${shot.id}>
          <button
            type="button"
            class="shot"
            aria-label=${shotInWords(light, shot)}
            data-field=${`photograph:${shot.id}`}
            onClick=${() => (view.photograph.value = { id: shot.id, marking: null })}
          >
            <${Thumbnail} sha256=${shot.sha256} alt=${shotInWords(light, shot)} />
            <span class="shot-words small">${photographInWords(shot)}</span>
            ${shot.trouble && html`<span class="tag alarm">Not whole</span>`}
            ${faultInBrief(shot) && html`<span class="tag">${faultInBrief(shot)}</span>`}
          </button>
        </li>`,
      )}
      ${keeping > 0 && html`<li class="shot-keeping soft small" role="status">Keeping the photograph…</li>`}
    </ul>`}
    <${ShotChecks} held=${held} light=${light.code} onFiles=${keep} />
    <${ShotsWithoutRoom} held=${held} light=${light.code} />
    ${refusals.map((sentence) => html`<${Notice} kind="problem"><p>${sentence}</p><//>`)}
    ${warnings.map((sentence) => html`<${Notice}><p>${sentence}</p><//>`)}
    ${refusals.length + warnings.length > 0 &&
    html`<button type="button" class="button said-away" onClick=${forget}>I have read this</button>`}
    ${!open && light.code === "ultraviolet" && isRunning(held) &&
    html`<${LampTimer} held=${held} brief />`}
    ${open &&
    html`<div class="light-slot-body stack">
      <${LightCaution} light=${light} />
      ${light.code === "ultraviolet" && html`<${LampTimer} held=${held} />`}
      <${Fold} name=${`How to set up ${lowerFirst(light.name)}`}>
        <ol class="numbered">
          ${light.setup.map((step) => html`<li>${step}</li>`)}
        </ol>
        <${Points} name="It shows" points=${light.shows} />
        <${Points} name="What may mislead" points=${light.traps} />
        <p class="soft small">Source: ${light.source}</p>
      <//>
      ${light.has_azimuth &&
      html`<div>
        <h4>Where does the light come from?</h4>
        <${AzimuthDial}
          value=${view.azimuth.value}
          onChange=${(/** @type {number} */ azimuth) => (view.azimuth.value = azimuth)}
          side=${named("side", view.side.value)}
          fieldKey="azimuth"
        />
      </div>`}
      ${light.has_azimuth && view.azimuth.value === null
        ? html`<p class="soft">Set the azimuth first; the camera and the files open here then.</p>`
        : html`<${CaptureButtons}
            what=${captureWords(light, view.side.value, view.azimuth.value)}
            light=${light.code}
            onFiles=${keep}
            onLiveView=${() => (view.camera.value = light.code)}
          />`}
    </div>`}
  </li>`;
}

/** "Raking light, recto, 315°, not whole" */
function shotInWords(/** @type {Light} */ light, /** @type {PhotographRow} */ shot) {
  const words = [light.name, lowerFirst(photographInWords(shot))];
  if (shot.trouble) words.push("not whole");
  if (faultInBrief(shot)) words.push(lowerFirst(faultInBrief(shot)));
  return words.join(", ");
}

function Points(/** @type {{name: string, points: string[]}} */ { name, points }) {
  return html`<div>
    <h4>${name}</h4>
    <ul class="dashed">
      ${points.map((point) => html`<li>${point}</li>`)}
    </ul>
  </div>`;
}

function LightCaution(/** @type {{light: Light}} */ { light }) {
  if (!light.caution) return null;
  if (STAND_OPEN.includes(light.caution)) return html`<${Caution} code=${light.caution} />`;
  return html`<${Fold} name="Caution: handling the sheet"><${Caution} code=${light.caution} /><//>`;
}

/** "Recto, raking light, 315°" */
export function captureWords(
  /** @type {Light} */ light,
  /** @type {string} */ side,
  /** @type {number | null} */ azimuth,
) {
  const words = `${named("side", side)}, ${lowerFirst(light.name)}`;
  return light.has_azimuth ? `${words}, ${azimuth}°` : words;
}
