/**
 * A photograph to set points on: press, aim in the magnified circle, lift. Points are dragged, or
 * moved by the arrow keys.
 */

import { apply, inverse, mmPerPixel, tapErrorPx } from "../../../imaging/geometry.js";
import { html, useRef, useState } from "../../../vendor/ui.js";
import { Layer } from "../../sheet-view/layer.js";
import { Pane } from "../../sheet-view/pane.js";

/** @import { Matrix, Point } from "../../../imaging/geometry.js" */
/** @import { Outline } from "../../sheet-view/outlines.js" */
/** @import { OnPane } from "../../sheet-view/pane.js" */
/** @import { Photograph, Pictures, Rendition } from "../../sheet-view/pictures.js" */
/** @import { Bounds, View } from "../../sheet-view/view.js" */

/**
 * A point and the standard uncertainty of its tap, in pixels of the photograph.
 * @typedef {{at: Point, tap_px: number}} Tapped
 */

/** The circle magnifies so many times; its diameter in CSS pixels. */
const LOUPE = 3;
const LOUPE_PX = 176;
/** A finger takes hold of a point within so many CSS pixels. */
const GRAB_PX = 30;
/** @type {Record<string, Point>} */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LARGE_STEP = 10;

/**
 * @param {object} props
 * @param {Photograph} props.photograph
 * @param {Pictures} props.pictures
 * @param {Matrix} props.matrix  pixels of the photograph to the unit of the points
 * @param {Bounds} props.bounds  of the whole, in that unit
 * @param {boolean} props.hasScale  the unit is the millimetre
 * @param {Tapped[]} props.points
 * @param {(points: Tapped[]) => void} props.onPoints
 * @param {number} props.most  points that can be set
 * @param {"apart" | "line" | "outline"} props.shape  how they are joined
 * @param {string[]} [props.names]  of the points
 * @param {number | null} props.selected
 * @param {(at: number | null) => void} props.onSelect
 * @param {Outline[]} [props.outlines]  drawn below
 * @param {(rendition: Rendition) => void} [props.onLoad]
 */
export function PointPane({
  photograph, pictures, matrix, bounds, hasScale, points, onPoints, most, shape, names = [],
  selected, onSelect, outlines = [], onLoad,
}) {
  const [view, setView] = useState(/** @type {View | null} */ (null));
  const [isShown, setIsShown] = useState(false);
  const aiming = useRef(/** @type {{at: number, offset: Point, before: Tapped[]} | null} */ (null));
  // A finger moves faster than the screen is drawn.
  const now = useRef(points);
  now.current = points;

  const set = (/** @type {Tapped[]} */ next) => {
    now.current = next;
    onPoints(next);
  };
  const tapped = (/** @type {Point} */ at, /** @type {OnPane} */ on) => {
    const per_px = mmPerPixel(matrix, apply(inverse(matrix), at));
    return { at, tap_px: tapErrorPx(on.view.scale * per_px * LOUPE) };
  };
  const moveTo = (/** @type {number} */ index, /** @type {Point} */ at, /** @type {OnPane} */ on) =>
    set(now.current.map((point, i) => (i === index ? tapped(at, on) : point)));

  /** @type {(stage: "press" | "move" | "lift" | "away", place: Point, on: OnPane) => boolean} */
  const aim = (stage, place, on) => {
    const [x, y] = place;
    if (stage === "press") {
      const near = nearest(now.current, place, GRAB_PX / on.view.scale);
      if (near === null && now.current.length >= most) return false;
      const before = now.current;
      const at = near ?? before.length;
      const [hx, hy] = near === null ? place : before[near].at;
      aiming.current = { at, offset: [hx - x, hy - y], before };
      if (near === null) set([...before, tapped(place, on)]);
      onSelect(at);
      setIsShown(true);
      return true;
    }
    const held = aiming.current;
    if (!held) return false;
    if (stage === "move") moveTo(held.at, [x + held.offset[0], y + held.offset[1]], on);
    if (stage === "away") set(held.before);
    if (stage !== "move") {
      aiming.current = null;
      setIsShown(false);
    }
    return true;
  };

  const onKey = (/** @type {KeyboardEvent} */ event, /** @type {OnPane} */ on) => {
    const way = ARROWS[event.key];
    const own = selected === null ? null : now.current[selected];
    if (way && own && selected !== null) {
      const step = (event.shiftKey ? LARGE_STEP : 1) / on.view.scale;
      moveTo(selected, [own.at[0] + way[0] * step, own.at[1] + way[1] * step], on);
      setIsShown(true);
    } else if (event.key === "Enter" && now.current.length < most) {
      onSelect(now.current.length);
      set([...now.current, tapped([on.view.x, on.view.y], on)]);
      setIsShown(true);
    } else if ((event.key === "Delete" || event.key === "Backspace") && own) {
      set(now.current.filter((point) => point !== own));
      onSelect(null);
      setIsShown(false);
    } else {
      return;
    }
    event.preventDefault();
  };

  const aimedAt = isShown && selected !== null ? points[selected] : undefined;
  const over = (/** @type {OnPane} */ on) => html`
    <${Handles} points=${points} shape=${shape} names=${names} selected=${selected} on=${on} />
    ${aimedAt &&
    html`<${Loupe} photograph=${photograph} pictures=${pictures} matrix=${matrix} at=${aimedAt.at} on=${on} />`}
  `;
  return html`<${Pane}
    label=${
      `${photograph.name}. ${points.length} of ${Number.isFinite(most) ? most : "any number of"} points are set. ` +
      "Enter sets one in the middle; the arrow keys move the one in hand, Delete takes it away."
    }
    words=${[]}
    layers=${[{ photograph, toMm: () => matrix }]}
    outlines=${outlines}
    view=${view}
    onView=${setView}
    bounds=${bounds}
    pictures=${pictures}
    hasScale=${hasScale}
    onLoad=${(/** @type {Rendition | null} */ rendition) => rendition && onLoad?.(rendition)}
    aim=${aim}
    onKey=${onKey}
    hasButtons
    over=${over}
  />`;
}

/** @param {Tapped[]} points @param {Point} place @param {number} within */
function nearest(points, [x, y], within) {
  const away = points.map(({ at }) => Math.hypot(at[0] - x, at[1] - y));
  const least = Math.min(...away);
  return least <= within ? away.indexOf(least) : null;
}

/**
 * @param {{points: Tapped[], shape: "apart" | "line" | "outline", names: string[],
 *   selected: number | null, on: OnPane}} props
 */
function Handles({ points, shape, names, selected, on }) {
  const places = points.map(({ at }) => apply(on.toPane, at));
  const line = `M${places.map(([x, y]) => `${x} ${y}`).join("L")}${shape === "outline" && places.length > 2 ? "Z" : ""}`;
  return html`<svg class="sv-outlines" aria-hidden="true">
    ${shape !== "apart" &&
    places.length > 1 &&
    html`<g class="sv-outline"><path class="sv-halo" d=${line} /><path class="sv-line" d=${line} /></g>`}
    ${places.map(
      ([x, y], at) => html`<g
        key=${at}
        class=${`set-point ${at === selected ? "selected" : ""}`}
        transform=${`translate(${x} ${y})`}
      >
        <circle class="dark" r="15" /><circle r="15" />
        <path class="dark" d="M-15 0H-4M4 0H15M0 -15V-4M0 4V15" />
        <path d="M-15 0H-4M4 0H15M0 -15V-4M0 4V15" />
        ${names[at] && html`<text class="dark" y="-22">${names[at]}</text><text y="-22">${names[at]}</text>`}
      </g>`,
    )}
  </svg>`;
}

/**
 * What lies below the finger, magnified, in the corner that is farther from it.
 *
 * @param {{photograph: Photograph, pictures: Pictures, matrix: Matrix, at: Point, on: OnPane}} props
 */
function Loupe({ photograph, pictures, matrix, at, on }) {
  const [x] = apply(on.toPane, at);
  const isLeft = x > on.size.width / 2;
  return html`<div class=${`loupe ${isLeft ? "left" : "right"}`} aria-hidden="true">
    <${Layer}
      photograph=${photograph}
      toMm=${() => matrix}
      pictures=${pictures}
      view=${{ x: at[0], y: at[1], scale: on.view.scale * LOUPE }}
      pane=${{ width: LOUPE_PX, height: LOUPE_PX }}
      onLoad=${() => {}}
    />
    <svg viewBox="-88 -88 176 176">
      <path class="dark" d="M-88 0H-7M7 0H88M0 -88V-7M0 7V88" />
      <path d="M-88 0H-7M7 0H88M0 -88V-7M0 7V88" />
    </svg>
  </div>`;
}
