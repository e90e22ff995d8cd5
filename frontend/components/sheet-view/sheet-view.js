/**
 * Photographs of one sheet, looked at together: alone, side by side, one over the other, in turn.
 * All lie in the millimetres of the sheet, so that a place is the same place in each.
 */

import { apply, mirrored } from "../../imaging/geometry.js";
import { html, useEffect, useMemo, useState } from "../../vendor/ui.js";
import { TurnButtons, useTurns } from "./in-turn.js";
import { Mark } from "./outlines.js";
import { Pane, turnedTo } from "./pane.js";
import { openPictures } from "./pictures.js";
import { boundsOf } from "./view.js";

/** @import { Matrix, Point } from "../../imaging/geometry.js" */
/** @import { Outline } from "./outlines.js" */
/** @import { Photograph, Rendition } from "./pictures.js" */
/** @import { Bounds, View } from "./view.js" */

/**
 * An observation and its place on its own side: an outline of three points or more, or one point.
 * @typedef {object} Observation
 * @property {string} id
 * @property {number} number
 * @property {string} name
 * @property {"recto" | "verso"} side
 * @property {"damage" | "feature" | "unsure"} nature
 * @property {Point[]} points  in mm; none when it has no place
 *
 * Something measured, drawn as it was tapped.
 * @typedef {object} Line
 * @property {string} id
 * @property {string} name
 * @property {string} [label]  written beside it: its value with its uncertainty and unit
 * @property {"recto" | "verso"} side
 * @property {boolean} open  a line; else an outline
 * @property {Point[]} points  in mm
 *
 * @typedef {object} Data
 * @property {Photograph[]} photographs  in the order they are offered
 * @property {Observation[]} observations
 * @property {Line[]} [lines]
 * @property {{width_mm: number, height_mm: number} | null} sheet
 * @property {string} [first]  id of the photograph that is shown first
 * @property {string} [second]
 * @property {Mode} [mode]  how one looks at first
 */

/** @type {{value: Mode, label: string}[]} */
const MODES = [
  { value: "one", label: "One" },
  { value: "two", label: "Side by side" },
  { value: "divided", label: "Divider" },
  { value: "blended", label: "Blend" },
  { value: "turning", label: "In turn" },
];
/** A step of the divider by the arrow keys, as a share of the pane. */
const DIVIDER_STEP = 0.02;
/** @typedef {"one" | "two" | "divided" | "blended" | "turning"} Mode */

/** @param {Data} props */
export function SheetView({ photographs, observations, lines = [], sheet, first, second, mode: begun = "one" }) {
  const pictures = useMemo(() => openPictures(), []);
  const [ids, setIds] = useState({ first: first ?? "", second: second ?? "" });
  const [mode, setMode] = useState(begun);
  const [hasOutlines, setHasOutlines] = useState(true);
  const [isThrough, setIsThrough] = useState(false);
  const [share, setShare] = useState(0.5);
  const [divider, setDivider] = useState(0.5);
  const [view, setView] = useState(/** @type {View | null} */ (null));
  // Where a photograph that is not placed may lie is known once its size is.
  const [sizes, setSizes] = useState(/** @type {Record<string, Rendition>} */ ({}));

  const one = photographs.find(({ id }) => id === ids.first) ?? photographs[0];
  const other =
    photographs.find(({ id }) => id === ids.second && id !== one?.id) ??
    photographs.find(({ id, side }) => id !== one?.id && side === one?.side) ??
    photographs.find(({ id }) => id !== one?.id);
  const turns = useTurns(mode === "turning" && Boolean(other));
  const bounds = boundsOfWhole(one, sheet, sizes);
  // Another side is another sheet to look at; a new size of the sheet is a new whole.
  useEffect(() => setView(null), [one?.side, bounds.left, bounds.right, bounds.bottom]);

  if (!one) return html`<p class="sv-empty">There is no photograph to look at yet.</p>`;

  const isTwo = mode !== "one" && other;
  const layerOf = (/** @type {Photograph} */ photograph, style = {}) => ({
    photograph,
    toMm: (/** @type {Rendition} */ rendition) => lies(photograph, rendition, one, sizes[one.id], bounds, sheet),
    style,
  });
  const otherSide = one.side === "recto" ? "verso" : "recto";
  const hasOther = [...observations, ...lines].some((each) => each.side === otherSide && each.points.length);
  const outlines = hasOutlines && isPlaced(one) ? outlinesOn(one.side, isThrough, observations, lines, sheet) : [];

  /** Outlines are drawn where at least one that is seen is placed. */
  const pane = (
    /** @type {Photograph[]} */ shown,
    /** @type {Record<string, string | number>[]} */ styles = [],
    /** @type {any} */ over = undefined,
    seen = shown,
  ) =>
    html`<${Pane}
      key=${shown[0].id}
      label=${`${shown.map(({ name }) => name).join(" and ")}. Arrow keys move, plus and minus enlarge.`}
      words=${seen.map((each) => wordsOf(each, one.side))}
      isDivided=${mode === "divided"}
      layers=${shown.map((each, at) => layerOf(each, styles[at]))}
      outlines=${seen.some(isPlaced) ? outlines : []}
      view=${view}
      onView=${setView}
      bounds=${bounds}
      pictures=${pictures}
      hasScale=${shown.length === 1 ? shown[0].homography : shown.every(isPlaced)}
      onLoad=${(/** @type {Rendition | null} */ rendition, /** @type {string} */ id) =>
        rendition && setSizes((before) => (before[id] ? before : { ...before, [id]: rendition }))}
      hasButtons=${shown.at(-1) === (isTwo ? other : one)}
      over=${over}
    />`;

  const onShow = other && turns.isSecond ? other : one;
  const named = observations.filter(
    ({ side, points }) => points.length && (side === one.side || isThrough),
  );

  return html`<div class="sheet-view">
    <div class=${`sv-panes ${isTwo && mode === "two" ? "two" : ""}`}>
      ${!isTwo
        ? pane([one])
        : mode === "two"
          ? [pane([one]), pane([other])]
          : mode === "blended"
            ? pane([one, other], [{}, { opacity: share }])
            : mode === "turning"
              ? pane([one, other], [shownIf(!turns.isSecond), shownIf(turns.isSecond)], undefined, [onShow])
              : pane([one, other], [{}, { clipPath: `inset(0 0 0 ${divider * 100}%)` }], () =>
                  html`<${Divider} at=${divider} onMove=${setDivider} left=${one.name} right=${other.name} />`,
                )}
    </div>
    <div class="sv-bar-of-controls">
      ${photographs.length > 1 &&
      html`<div class="sv-modes" role="group" aria-label="How to look">
        ${MODES.map(
          ({ value, label }) => html`<button
            type="button"
            key=${value}
            aria-pressed=${mode === value}
            onClick=${() => setMode(value)}
          >
            ${label}
          </button>`,
        )}
      </div>`}
      <div class="sv-lights">
        <${Picker}
          label=${isTwo ? "First photograph" : "Photograph"}
          photographs=${photographs}
          value=${one.id}
          onPick=${(/** @type {string} */ id) =>
            setIds({ first: id, second: id === other?.id ? one.id : (other?.id ?? "") })}
        />
        ${isTwo &&
        html`<${Picker}
          label="Second photograph"
          photographs=${photographs.filter(({ id }) => id !== one.id)}
          value=${other.id}
          onPick=${(/** @type {string} */ id) => setIds({ first: one.id, second: id })}
        />`}
      </div>
      ${isTwo &&
      mode === "blended" &&
      html`<label class="sv-blend">
        <span>From the first to the second</span>
        <input
          type="range"
          min="0"
          max="100"
          value=${Math.round(share * 100)}
          aria-valuetext=${`${Math.round(share * 100)} % of the second`}
          onInput=${(/** @type {{currentTarget: HTMLInputElement}} */ { currentTarget }) =>
            setShare(Number(currentTarget.value) / 100)}
        />
      </label>`}
      <div class="sv-toggles">
        ${isTwo && mode === "turning" && html`<${TurnButtons} turns=${turns} shown=${onShow.name} />`}
        <button type="button" aria-pressed=${hasOutlines} onClick=${() => setHasOutlines(!hasOutlines)}>
          Outlines
        </button>
        ${hasOutlines &&
        hasOther &&
        sheet &&
        html`<button type="button" aria-pressed=${isThrough} onClick=${() => setIsThrough(!isThrough)}>
          Those of the ${otherSide} too
        </button>`}
        ${hasOutlines &&
        named.length > 0 &&
        html`<${Names} observations=${named} side=${one.side} isPlaced=${isPlaced(one)} />`}
      </div>
    </div>
  </div>`;
}

/** @param {{label: string, photographs: Photograph[], value: string, onPick: (id: string) => void}} props */
function Picker({ label, photographs, value, onPick }) {
  return html`<label class="sv-pick">
    <span>${label}</span>
    <select
      value=${value}
      onChange=${(/** @type {{currentTarget: HTMLSelectElement}} */ event) => onPick(event.currentTarget.value)}
    >
      ${photographs.map(
        ({ id, name }) => html`<option key=${id} value=${id} selected=${id === value}>${name}</option>`,
      )}
    </select>
  </label>`;
}

/** The edge between two photographs, to be drawn across. */
function Divider(
  /** @type {{at: number, onMove: (at: number) => void, left: string, right: string}} */ { at, onMove, left, right },
) {
  const within = (/** @type {number} */ share) => Math.min(1, Math.max(0, share));
  return html`<div
    class="sv-divider"
    style=${{ left: `${at * 100}%` }}
    role="slider"
    tabindex="0"
    aria-label="Divider"
    aria-valuemin="0"
    aria-valuemax="100"
    aria-valuenow=${Math.round(at * 100)}
    aria-valuetext=${`${left} to ${Math.round(at * 100)} %, then ${right}`}
    onPointerDown=${(/** @type {PointerEvent & {currentTarget: HTMLElement}} */ event) =>
      event.currentTarget.setPointerCapture(event.pointerId)}
    onPointerMove=${(/** @type {PointerEvent & {currentTarget: HTMLElement}} */ event) => {
      if (!event.currentTarget.hasPointerCapture(event.pointerId)) return;
      const box = event.currentTarget.parentElement?.getBoundingClientRect();
      if (box) onMove(within((event.clientX - box.left) / box.width));
    }}
    onKeyDown=${(/** @type {KeyboardEvent} */ event) => {
      const step = event.key === "ArrowLeft" ? -DIVIDER_STEP : event.key === "ArrowRight" ? DIVIDER_STEP : 0;
      if (!step) return;
      event.preventDefault();
      onMove(within(at + step));
    }}
  ></div>`;
}

/** What the numbers stand for. @param {{observations: Observation[], side: string, isPlaced: boolean}} props */
function Names({ observations, side, isPlaced: hasOutlines }) {
  if (!hasOutlines) {
    return html`<p class="sv-note">
      This photograph is not placed on the sheet, so no outline can be shown on it.
    </p>`;
  }
  return html`<ul class="sv-names" tabindex="0" aria-label="What is outlined">
    ${observations.map(
      (each) => html`<li key=${each.id}>
        <svg viewBox="-17 -17 34 34" class=${`sv-outline ${each.nature}`} aria-hidden="true">
          <${Mark} nature=${each.nature} />
          <text y="5">${each.number}</text>
        </svg>
        <span class="visually-hidden">${each.number}: </span>
        ${each.name}${NATURE_WORDS[each.nature]}${each.side === side ? "" : `, on the ${each.side}`}
      </li>`,
    )}
  </ul>`;
}

/** @type {Record<Observation["nature"], string>} */
const NATURE_WORDS = { damage: "", feature: ", a feature", unsure: ", not decided" };

/** @param {boolean} isShown */
function shownIf(isShown) {
  return { visibility: isShown ? "visible" : "hidden" };
}

/** Whether it lies on the sheet: a scale alone does not tell where. @param {Photograph} photograph */
function isPlaced({ homography, by_scale }) {
  return Boolean(homography) && !by_scale;
}

/** @param {Photograph} photograph @param {string} side  that is looked at */
function wordsOf(photograph, side) {
  const turned = photograph.side === side ? "" : ", mirrored: as seen through the sheet";
  const loose = isPlaced(photograph) ? "" : ". Not placed on the sheet: it lies by its edges only";
  return photograph.name + turned + loose;
}

/**
 * The whole that one looks at: the sheet, or else the photograph.
 *
 * @param {Photograph | undefined} one @param {Data["sheet"]} sheet @param {Record<string, Rendition>} sizes
 * @returns {Bounds}
 */
function boundsOfWhole(one, sheet, sizes) {
  if (one && isPlaced(one) && sheet) {
    return { left: 0, top: 0, right: sheet.width_mm, bottom: sheet.height_mm };
  }
  const { width_px, height_px } = (one && sizes[one.id]) ?? {
    width_px: one?.width_px ?? 400,
    height_px: one?.height_px ?? 300,
  };
  const { homography } = one ?? {};
  // Without a scale, a length of no unit that is as good as any.
  const matrix = homography ?? [1 / 8, 0, 0, 0, 1 / 8, 0, 0, 0, 1];
  return boundsOf(cornersOf(width_px, height_px).map((at) => apply(matrix, at)));
}

/** @returns {Point[]} */
function cornersOf(/** @type {number} */ width, /** @type {number} */ height) {
  return [[0, 0], [width, 0], [width, height], [0, height]];
}

/**
 * How a photograph lies on the side that is looked at. One that is not placed is laid over the
 * picture of the one that is looked at.
 *
 * @param {Photograph} photograph @param {Rendition} rendition
 * @param {Photograph} one @param {Rendition | undefined} oneRendition
 * @param {Bounds} bounds @param {Data["sheet"]} sheet
 * @returns {Matrix}
 */
function lies(photograph, { width_px, height_px }, one, oneRendition, bounds, sheet) {
  const { homography, side } = photograph;
  const isSure = homography && (photograph === one || (isPlaced(photograph) && isPlaced(one)));
  const under =
    one.homography && oneRendition
      ? boundsOf(
          cornersOf(oneRendition.width_px, oneRendition.height_px).map((at) =>
            apply(/** @type {Matrix} */ (one.homography), at),
          ),
        )
      : bounds;
  const [wide, high] = [under.right - under.left, under.bottom - under.top];
  const scale = Math.min(wide / width_px, high / height_px);
  const matrix = isSure
    ? homography
    : [
        scale, 0, under.left + (wide - scale * width_px) / 2,
        0, scale, under.top + (high - scale * height_px) / 2,
        0, 0, 1,
      ];
  if (side === one.side) return matrix;
  return turnedTo(matrix, isSure && sheet ? sheet.width_mm : under.left + under.right);
}

/**
 * @param {string} side @param {boolean} isThrough @param {Observation[]} observations
 * @param {Line[]} lines @param {Data["sheet"]} sheet
 * @returns {Outline[]}
 */
function outlinesOn(side, isThrough, observations, lines, sheet) {
  const all = [
    ...observations.map((each) => ({ ...each, number: String(each.number), open: false })),
    ...lines.map((each) => ({ ...each, number: "", nature: /** @type {const} */ ("measured") })),
  ];
  return all
    .filter((each) => each.points.length && (each.side === side || (isThrough && sheet)))
    .map((each) => ({
      ...each,
      points:
        each.side === side || !sheet
          ? each.points
          : each.points.map((point) => mirrored(point, sheet.width_mm)),
    }));
}
