/** An earlier photograph over the live picture, so that the new one is framed alike. */

import { largestPicture } from "../../store/pictures.js";
import { html, useEffect, useState } from "../../vendor/ui.js";
import { useBlobUrl } from "../thumbnail.js";

/**
 * words: which photograph it is, for example "Normal light, recto, 12 May 2026"
 * @typedef {{sha256: string, words: string}} Shown
 */

/** How strongly the earlier photograph shows at first: both can be told apart, on most sheets. */
export const GHOST_STRENGTH = 0.4;

/** It fills the same box in the same way as the live picture. @param {{shown: Shown, strength: number}} props */
export function Ghost({ shown: { sha256, words }, strength }) {
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
  return url && html`<img class="ghost" src=${url} alt=${`As it was: ${words}`} style=${{ opacity: strength }} />`;
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
