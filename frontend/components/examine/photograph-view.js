/** One photograph, large, on neutral grey: to look, to say what it is, to mark a place on it. */

import { largestPicture } from "../../store/pictures.js";
import { light as lightOf, vocabulary } from "../../store/vocabulary.js";
import { html, useEffect, useState } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { lazy } from "../lazy.js";
import { Notice } from "../notice.js";
import { TextField } from "../text-field.js";
import { useBlobUrl } from "../thumbnail.js";
import { clock, lowerFirst, optionsOf, shotCheckInWords } from "../wording.js";
import { AzimuthDial } from "./azimuth-dial.js";
import { MarkRing } from "./mark-ring.js";
import { withStyles } from "./on-sheet/parts.js";
import { RemoveButton } from "./remove-button.js";
import { Stage } from "./stage.js";
import { isOnSheet, photographInWords, termName } from "./words.js";

/** @import { PhotographRow } from "../../store/types.js" */
/** @import { Held, Task } from "./held.js" */

const PhotographTask = lazy(
  async () => (await withStyles(import("./on-sheet/task.js"))).PhotographTask,
);
const PlacedPicture = lazy(
  async () => (await withStyles(import("./on-sheet/placed-picture.js"))).PlacedPicture,
);
const OnSheet = lazy(async () => (await withStyles(import("./on-sheet/on-sheet.js"))).OnSheet);

const ZOOMS = [1, 2, 4];
/** Steps of a mark moved by the arrow keys, as a share of the picture. */
const KEY_STEP = 0.01;
/** @type {Record<string, [number, number]>} */
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @param {{held: Held}} props */
export function PhotographView({ held }) {
  const { view } = held;
  const looking = view.photograph.value;
  const all = held.photographs.value;
  const photograph = all.find((each) => each.id === looking?.id);
  const close = () => (view.photograph.value = null);
  // Removed here or on another tablet while it was open.
  useEffect(() => {
    if (looking && !photograph) close();
  }, [looking, photograph]);
  if (!looking || !photograph) return null;

  const at = all.indexOf(photograph);
  const marking = held.observations.value.find((each) => each.id === looking.marking) ?? null;
  const step = (/** @type {number} */ by) =>
    (view.photograph.value = { ...looking, id: all[at + by].id });
  const turnTo = (/** @type {Task | undefined} */ task) => (view.photograph.value = { ...looking, task });
  const name = lightOf(photograph.light)?.name ?? photograph.light;
  const label = `${name}, ${lowerFirst(photographInWords(photograph))}`;
  if (looking.task) {
    return html`<${Stage} label=${label} onClose=${close}>
      <${PhotographTask}
        key=${`${photograph.id} ${looking.task.do} ${looking.task.from}`}
        held=${held}
        photograph=${photograph}
        observation=${marking}
        task=${looking.task}
        onDone=${() => turnTo(undefined)}
      />
    <//>`;
  }

  return html`<${Stage} label=${label} onClose=${close}>
    ${isOnSheet(photograph) && !marking
      ? html`<${PlacedPicture} key=${`placed ${photograph.id}`} held=${held} photograph=${photograph} />`
      : html`<${Picture} key=${photograph.id} held=${held} photograph=${photograph} marking=${marking} />`}
    <div class="stage-panel">
      <div class="row stage-steps">
        <button type="button" class="button" disabled=${at === 0} onClick=${() => step(-1)}>
          ‹ Previous
        </button>
        <span class="numeral">${at + 1} of ${all.length}</span>
        <button
          type="button"
          class="button"
          disabled=${at === all.length - 1}
          onClick=${() => step(1)}
        >
          Next ›
        </button>
        <button type="button" class="button stage-close" onClick=${close}>
          ${marking ? "Done" : "Close"}
        </button>
      </div>
      <h2>${name}</h2>
      <p>${photographInWords(photograph)}. Taken at ${clock(photograph.taken_at)}.</p>
      ${photograph.trouble && html`<${Notice} kind="problem"><p>${photograph.trouble}</p><//>`}
      ${photograph.shot_check && html`<p>${shotCheckInWords(photograph.shot_check)}</p>`}
      ${marking
        ? html`<p class="stage-task">
            ${marking.mark?.photograph === photograph.id
              ? `${termName(marking)} is marked. Tap elsewhere to move the mark.`
              : `Tap the place where ${lowerFirst(termName(marking))} shows.`}
          </p>
          <${OrOutline} photograph=${photograph} hasOutline=${marking.region !== null} onTask=${turnTo} />`
        : html`<${OnSheet} key=${`sheet ${photograph.id}`} held=${held} photograph=${photograph} onTask=${turnTo} />
            <${Particulars} key=${photograph.id} held=${held} photograph=${photograph} />`}
    </div>
  <//>`;
}

/**
 * The picture with the marks on it. While marking, a tap or the arrow keys place the mark.
 *
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph
 * @param {import("../../store/types.js").ObservationRow | null} props.marking
 */
function Picture({ held, photograph, marking }) {
  const [blob, setBlob] = useState(/** @type {Blob | null} */ (null));
  const [lost, setLost] = useState(false);
  const [shape, setShape] = useState(
    photograph.width_px && photograph.height_px ? photograph.width_px / photograph.height_px : 4 / 3,
  );
  const [zoom, setZoom] = useState(1);
  const url = useBlobUrl(blob);

  useEffect(() => {
    let gone = false;
    largestPicture(photograph.sha256).then((found) => {
      if (gone) return;
      setBlob(found);
      setLost(!found);
    });
    return () => {
      gone = true;
    };
  }, [photograph.sha256]);

  const place = (/** @type {number} */ x, /** @type {number} */ y) => {
    const within = (/** @type {number} */ share) => Math.round(Math.min(1, Math.max(0, share)) * 1e4) / 1e4;
    if (!marking) return;
    held.change("observation", marking.id, {
      mark: { photograph: photograph.id, x: within(x), y: within(y) },
    });
  };
  const mark = marking?.mark?.photograph === photograph.id ? marking.mark : null;

  return html`<div class="stage-picture">
    <div
      class="stage-scroll"
      tabindex="0"
      role=${marking ? "application" : "group"}
      aria-label=${marking
        ? "The photograph. Move the mark with the arrow keys."
        : "The photograph"}
      onKeyDown=${(/** @type {KeyboardEvent} */ event) => {
        const direction = marking && KEYS[event.key];
        if (!direction) return;
        event.preventDefault();
        place(
          (mark?.x ?? 0.5) + direction[0] * KEY_STEP,
          (mark?.y ?? 0.5) + direction[1] * KEY_STEP,
        );
      }}
    >
      <div
        class="stage-sheet"
        style=${{
          aspectRatio: String(shape),
          width: `calc(min(100cqw, 100cqh * ${shape}) * ${zoom})`,
        }}
        onClick=${(/** @type {MouseEvent & {currentTarget: HTMLElement}} */ event) => {
          const box = event.currentTarget.getBoundingClientRect();
          place((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
        }}
      >
        ${url &&
        !lost &&
        html`<img
          src=${url}
          alt=""
          onLoad=${(/** @type {{currentTarget: HTMLImageElement}} */ { currentTarget }) =>
            setShape(currentTarget.naturalWidth / currentTarget.naturalHeight)}
          onError=${() => setLost(true)}
        />`}
        ${held.observations.value.map(
          (observation, i) =>
            observation.mark?.photograph === photograph.id &&
            html`<${MarkRing}
              key=${observation.id}
              mark=${observation.mark}
              number=${i + 1}
              strong=${observation.id === marking?.id}
            />`,
        )}
      </div>
    </div>
    ${lost &&
    html`<p class="stage-lost">
      This device cannot show the photograph. The file is kept as it was shot and will be sent.
    </p>`}
    <button
      type="button"
      class="button stage-zoom"
      onClick=${() => setZoom(ZOOMS[(ZOOMS.indexOf(zoom) + 1) % ZOOMS.length])}
    >
      ${zoom === 1 ? "Enlarge" : zoom === 4 ? "Fit" : "Enlarge more"}
    </button>
  </div>`;
}

/**
 * An outline tells more than a mark, where the photograph is placed on the sheet.
 *
 * @param {{photograph: PhotographRow, hasOutline: boolean, onTask: (task: Task) => void}} props
 */
function OrOutline({ photograph, hasOutline, onTask }) {
  const isPlaced = isOnSheet(photograph);
  return html`<div class="stack">
    <p>
      ${isPlaced
        ? "Or draw its outline: it then shows on every photograph that is placed on the sheet, and from the other side."
        : "To draw its outline instead, place this photograph on the sheet first."}
    </p>
    <button type="button" class="button" onClick=${() => onTask({ do: isPlaced ? "outline" : "corners" })}>
      ${isPlaced ? (hasOutline ? "Change its outline" : "Draw its outline") : "Set the sheet’s corners"}
    </button>
  </div>`;
}

/** What is recorded of a photograph, ready to be mended. */
function Particulars(/** @type {{held: Held, photograph: PhotographRow}} */ { held, photograph }) {
  const change = (/** @type {Partial<PhotographRow>} */ fields) =>
    held.change("photograph", photograph.id, fields);
  // Raking light without an azimuth is no record: the change waits until the dial is set.
  const [toLight, setToLight] = useState(/** @type {string | null} */ (null));
  const light = toLight ?? photograph.light;
  const turnTo = (/** @type {string} */ code) => {
    const waits = lightOf(code)?.has_azimuth && photograph.azimuth_deg === null;
    setToLight(waits ? code : null);
    if (!waits) change({ light: code, azimuth_deg: code === photograph.light ? photograph.azimuth_deg : null });
  };
  return html`<div class="stack">
    <${TextField}
      label="Caption"
      value=${photograph.caption}
      onInput=${(/** @type {string} */ caption) => change({ caption })}
    />
    <${Choice}
      label="Side"
      name="photograph-side"
      options=${optionsOf("side")}
      value=${photograph.side}
      onChange=${(/** @type {import("../../store/types.js").Side} */ side) => change({ side })}
    />
    <${Choice}
      label="Light"
      name="photograph-light"
      options=${vocabulary.value.lights.map(({ code, name }) => ({ value: code, label: name }))}
      value=${light}
      onChange=${turnTo}
    />
    ${lightOf(light)?.has_azimuth &&
    html`<div>
      <h3>${toLight ? "Set the azimuth to change the light" : "Azimuth"}</h3>
      <${AzimuthDial}
        value=${photograph.azimuth_deg}
        onChange=${(/** @type {number} */ azimuth_deg) => {
          setToLight(null);
          change({ light, azimuth_deg });
        }}
        side=${photograph.side}
      />
    </div>`}
    <${RemoveButton}
      label="Remove this photograph"
      question="Remove this photograph and the marks on it? It cannot be brought back."
      onRemove=${() => held.takePhotograph(photograph)}
    />
  </div>`;
}
