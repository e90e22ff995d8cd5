/** An earlier photograph over the live picture, so that the new one is framed alike. */

import { largestPicture } from "../../store/pictures.js";
import { html, useEffect, useState } from "../../vendor/ui.js";
import { useBlobUrl } from "../thumbnail.js";

/** @import { Point } from "../../imaging/geometry.js" */

/**
 * words: which photograph it is, for example "Normal light, recto, 12 May 2026"
 * width_px, height_px: as they stand in its record
 * place: what is looked at, in pixels of the upright picture of that size; one point is a ring
 * @typedef {{
 *   sha256: string,
 *   words: string,
 *   width_px: number | null,
 *   height_px: number | null,
 *   place: (size: {width_px: number, height_px: number}) => Point[],
 * }} Shown
 */

/** How strongly the earlier photograph shows at first: both can be told apart, on most sheets. */
export const GHOST_STRENGTH = 0.4;

/** A place that is one point has a ring about it, as a share of the picture's longer side. */
const RING_SHARE = 0.03;

/** It fills the same box in the same way as the live picture. @param {{shown: Shown, strength: number}} props */
export function Ghost({ shown, strength }) {
  const { sha256, words } = shown;
  const [size, setSize] = useState(/** @type {{width_px: number, height_px: number} | null} */ (null));
  const [picture, setPicture] = useState(/** @type {Blob | null | undefined} */ (undefined));
  useEffect(() => {
    let gone = false;
    largestPicture(sha256).then((found) => {
      if (!gone) setPicture(found);
    });
    return () => {
      gone = true;
    };
  }, [sha256]);
  const url = useBlobUrl(picture ?? null);
  if (picture === null) {
    return html`<p class="stage-lost">The earlier photograph is not on this device.</p>`;
  }
  return html`${url &&
    html`<img
      class="ghost"
      src=${url}
      alt=${`As it was: ${words}`}
      style=${{ opacity: strength }}
      onLoad=${(/** @type {{currentTarget: HTMLImageElement}} */ { currentTarget }) =>
        setSize(uprightSize(shown, currentTarget))}
    />`}
    ${size && html`<${Place} points=${shown.place(size)} size=${size} />`}`;
}

/**
 * Of the whole picture, though a smaller one is shown. The record has it as stored; the file may
 * ask to be turned by a quarter.
 *
 * @param {Shown} shown @param {HTMLImageElement} image
 */
function uprightSize({ width_px, height_px }, { naturalWidth, naturalHeight }) {
  if (!width_px || !height_px) return { width_px: naturalWidth, height_px: naturalHeight };
  const isTurned = width_px > height_px !== naturalWidth > naturalHeight;
  return isTurned ? { width_px: height_px, height_px: width_px } : { width_px, height_px };
}

/** The place over both pictures; the drawing fits in the box as they do. */
function Place(
  /** @type {{points: Point[], size: {width_px: number, height_px: number}}} */ {
    points,
    size: { width_px, height_px },
  },
) {
  if (points.length === 0) return null;
  const r = RING_SHARE * Math.max(width_px, height_px);
  const [x, y] = points[0];
  const line =
    points.length === 1
      ? `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`
      : `M${points.map((point) => point.join(" ")).join("L")}Z`;
  return html`<svg class="ghost-place" viewBox=${`0 0 ${width_px} ${height_px}`} aria-hidden="true">
    <path class="sv-halo" d=${line} />
    <path class="sv-line" d=${line} />
  </svg>`;
}

/**
 * @param {object} props
 * @param {Shown} props.shown
 * @param {number} props.strength  0 to 1
 * @param {(strength: number) => void} props.onStrength
 * @param {(isAlone: boolean) => void} props.onAlone
 */
export function GhostControls({ shown, strength, onStrength, onAlone }) {
  const percent = Math.round(strength * 100);
  const press = (/** @type {Event} */ event) => {
    event.preventDefault();
    onAlone(true);
  };
  const lift = () => onAlone(false);
  const isPress = (/** @type {KeyboardEvent} */ { key }) => key === " " || key === "Enter";
  return html`<div class="ghost-controls">
    <p class="ghost-words small"><strong>Over it, as it was:</strong> ${shown.words}</p>
    <label class="ghost-strength">
      <span class="visually-hidden">Strength of the earlier photograph</span>
      <input
        type="range"
        min="0"
        max="100"
        value=${percent}
        aria-valuetext=${`${percent} % of the earlier photograph`}
        onInput=${(/** @type {{currentTarget: HTMLInputElement}} */ { currentTarget }) =>
          onStrength(Number(currentTarget.value) / 100)}
      />
    </label>
    <button
      type="button"
      class="button hold-button"
      onPointerDown=${press}
      onPointerUp=${lift}
      onPointerLeave=${lift}
      onPointerCancel=${lift}
      onContextMenu=${(/** @type {Event} */ event) => event.preventDefault()}
      onKeyDown=${(/** @type {KeyboardEvent} */ event) => isPress(event) && press(event)}
      onKeyUp=${lift}
      onBlur=${lift}
    >
      Hold to see it alone
    </button>
  </div>`;
}
