/**
 * Two photographs in the same place, one after the other: what stays still is the sheet, what jumps
 * has changed, or is light. As on the desk's page of two examinations (static/desk/in-turn.js).
 */

import { html, useEffect, useState } from "../../vendor/ui.js";

/** Never faster than once a second. */
const EVERY_MS = 1600;

/**
 * @typedef {object} Turns
 * @property {boolean} isSecond  whether the second photograph is on show
 * @property {boolean} isRunning  by itself; never for those who asked their device for less motion
 * @property {boolean} isCalm  they did
 * @property {() => void} swap  shows the other one, and stops
 * @property {(isRunning: boolean) => void} run
 */

/** @param {boolean} isOn  whether they are looked at in turn now @returns {Turns} */
export function useTurns(isOn) {
  const [isSecond, setIsSecond] = useState(false);
  const [isRunning, run] = useState(false);
  const [isCalm, setIsCalm] = useState(false);
  useEffect(() => {
    if (!isOn) return undefined;
    const calm = matchMedia("(prefers-reduced-motion: reduce)");
    const obey = () => {
      setIsCalm(calm.matches);
      if (calm.matches) run(false);
    };
    const rest = () => document.hidden && run(false);
    run(true);
    obey();
    calm.addEventListener("change", obey);
    document.addEventListener("visibilitychange", rest);
    return () => {
      calm.removeEventListener("change", obey);
      document.removeEventListener("visibilitychange", rest);
      run(false);
      setIsSecond(false);
    };
  }, [isOn]);
  useEffect(() => {
    if (!isRunning) return undefined;
    const timer = setInterval(() => setIsSecond((before) => !before), EVERY_MS);
    return () => clearInterval(timer);
  }, [isRunning]);
  const swap = () => {
    run(false);
    setIsSecond((before) => !before);
  };
  return { isSecond, isRunning, isCalm, swap, run };
}

/** @param {{turns: Turns, shown: string}} props  shown: the name of the photograph on show */
export function TurnButtons({ turns: { isRunning, isCalm, swap, run }, shown }) {
  return html`<div class="sv-turns">
    <button type="button" onClick=${swap}>Show the other</button>
    ${!isCalm &&
    html`<button type="button" aria-pressed=${isRunning} onClick=${() => run(!isRunning)}>
      ${isRunning ? "Stop" : "Show them in turn"}
    </button>`}
    <p class="visually-hidden" role="status">${isRunning ? "" : shown}</p>
  </div>`;
}
