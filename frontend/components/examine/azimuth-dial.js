/** The dial that says where raking light comes from: the sheet from above, and an arrow. */

import { html, useRef } from "../../vendor/ui.js";
import { azimuthOf, turned, whence } from "./azimuth.js";

const TICKS = Array.from({ length: 24 }, (_, i) => i * 15);

/** @type {Record<string, (azimuth: number) => number>} */
const KEYS = {
  ArrowRight: (azimuth) => azimuth + 5,
  ArrowUp: (azimuth) => azimuth + 5,
  ArrowLeft: (azimuth) => azimuth - 5,
  ArrowDown: (azimuth) => azimuth - 5,
  PageUp: (azimuth) => azimuth + 15,
  PageDown: (azimuth) => azimuth - 15,
  Home: () => 0,
  End: () => 355,
};

/**
 * @param {object} props
 * @param {number | null} props.value  degrees; null while nobody has said
 * @param {(azimuth: number) => void} props.onChange
 * @param {string} props.side  the side that faces up, in words
 * @param {string} [props.fieldKey]
 */
export function AzimuthDial({ value, onChange, side, fieldKey }) {
  const face = useRef(/** @type {SVGSVGElement | null} */ (null));
  const dragging = useRef(false);

  const follow = (/** @type {PointerEvent} */ event) => {
    const box = face.current?.getBoundingClientRect();
    if (!box) return;
    onChange(
      azimuthOf(
        event.clientX - box.left - box.width / 2,
        event.clientY - box.top - box.height / 2,
      ),
    );
  };
  const words = value === null ? "Not said yet" : `${value}°, ${whence(value)}`;

  return html`<div class="azimuth">
    <svg
      ref=${face}
      class="azimuth-face"
      viewBox="0 0 240 240"
      role="slider"
      tabindex="0"
      data-field=${fieldKey}
      aria-label="Azimuth: where the light comes from, in degrees clockwise from the sheet’s top edge"
      aria-valuemin="0"
      aria-valuemax="359"
      aria-valuenow=${value ?? 0}
      aria-valuetext=${words}
      onPointerDown=${(/** @type {PointerEvent} */ event) => {
        dragging.current = true;
        face.current?.setPointerCapture(event.pointerId);
        follow(event);
      }}
      onPointerMove=${(/** @type {PointerEvent} */ event) => dragging.current && follow(event)}
      onPointerUp=${() => (dragging.current = false)}
      onPointerCancel=${() => (dragging.current = false)}
      onKeyDown=${(/** @type {KeyboardEvent} */ event) => {
        const step = KEYS[event.key];
        if (!step) return;
        event.preventDefault();
        onChange(turned(step(value ?? 0)));
      }}
    >
      <circle class="azimuth-ring" cx="120" cy="120" r="100" />
      ${TICKS.map(
        (degrees) => html`<path
          key=${degrees}
          class="azimuth-tick"
          transform=${`rotate(${degrees} 120 120)`}
          d=${degrees % 90 === 0 ? "M120 20 V34" : "M120 20 V27"}
        />`,
      )}
      <rect class="azimuth-sheet" x="88" y="78" width="64" height="84" />
      <path class="azimuth-top" d="M88 78 H152" />
      <text class="azimuth-word" x="120" y="98">top</text>
      <text class="azimuth-word" x="120" y="128">${side.toLowerCase()}</text>
      ${value !== null &&
      html`<g class="azimuth-arrow" transform=${`rotate(${value} 120 120)`}>
        <path d="M120 20 V66" />
        <path d="M111 56 L120 68 L129 56" />
        <circle cx="120" cy="20" r="14" />
      </g>`}
    </svg>
    <p class="azimuth-value" aria-live="polite">
      ${value === null
        ? html`<strong>Not said yet</strong>
            <span class="soft">Tap the ring where the lamp stands.</span>`
        : html`<strong class="azimuth-figure numeral">${value}°</strong>
            <span class="soft">${whence(value)}</span>`}
    </p>
    <${AzimuthSteps} value=${value} onChange=${onChange} />
  </div>`;
}

/**
 * The same by buttons, for a glove or for the live view.
 *
 * @param {{value: number | null, onChange: (azimuth: number) => void}} props
 */
export function AzimuthSteps({ value, onChange }) {
  const by = (/** @type {number} */ step) => () => onChange(turned((value ?? 0) + step));
  return html`<div class="row azimuth-steps">
    <button type="button" class="button" onClick=${by(-15)}>−15°</button>
    <button type="button" class="button" onClick=${by(15)}>+15°</button>
    <button type="button" class="button" onClick=${by(90)}>+90°</button>
  </div>`;
}
