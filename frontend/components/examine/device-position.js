/** The device's own position, read only when the person taps for it. */

import { html, useState } from "../../vendor/ui.js";
import { Notice } from "../notice.js";

/** @import { Position } from "../../store/types.js" */

const LONGEST_WAIT_MS = 30_000;

/** @type {Record<number, string>} by the code of a GeolocationPositionError */
const REFUSALS = {
  1: "This app may not read the position. Allow it in the browser’s settings for this site, or write the place in words.",
  2: "The device found no position, as is usual deep inside a building. Write the place in words.",
  3: "The device took too long to find its position. Try near a window, or write the place in words.",
};

/** @param {{position: Position | null, onPosition: (position: Position | null) => void}} props */
export function DevicePosition({ position, onPosition }) {
  const [asking, setAsking] = useState(false);
  const [refusal, setRefusal] = useState("");

  const ask = () => {
    if (!navigator.geolocation) {
      return setRefusal("This device gives no position. Write the place in words.");
    }
    setAsking(true);
    setRefusal("");
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        setAsking(false);
        onPosition({
          latitude: coords.latitude,
          longitude: coords.longitude,
          accuracy_m: Math.round(coords.accuracy),
        });
      },
      (error) => {
        setAsking(false);
        setRefusal(REFUSALS[error.code] ?? REFUSALS[2]);
      },
      { enableHighAccuracy: true, timeout: LONGEST_WAIT_MS },
    );
  };

  return html`<div class="stack">
    ${position &&
    html`<p class="stated">
      <span class="soft small">Position from this device</span>
      <strong class="numeral">${inWords(position)}</strong>
    </p>`}
    ${refusal && html`<${Notice} kind="problem">${refusal}<//>`}
    <div class="row">
      <button type="button" class="button" disabled=${asking} onClick=${ask}>
        ${asking
          ? "Finding the position…"
          : position
            ? "Read the position again"
            : "Add this device’s position"}
      </button>
      ${position &&
      html`<button type="button" class="button" onClick=${() => onPosition(null)}>
        Remove the position
      </button>`}
    </div>
  </div>`;
}

/** "57.14823° N, 2.09281° W, ± 12 m" */
function inWords(/** @type {Position} */ { latitude, longitude, accuracy_m }) {
  const north = `${Math.abs(latitude).toFixed(5)}° ${latitude < 0 ? "S" : "N"}`;
  const east = `${Math.abs(longitude).toFixed(5)}° ${longitude < 0 ? "W" : "E"}`;
  return `${north}, ${east}, ± ${accuracy_m} m`;
}
