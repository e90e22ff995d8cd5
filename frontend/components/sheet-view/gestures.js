/** What fingers, a mouse and keys do on a pane: move it, enlarge it, and aim at places. */

/** @import { Point } from "../../imaging/geometry.js" */

/**
 * Places are CSS pixels of the element.
 *
 * move   by so many pixels
 * zoom   by a factor, about a place
 * fit    show the whole again
 * aim    one finger, or the mouse: told where it is pressed, moved and lifted; says at the press
 *        whether it takes it. One that is not taken moves the pane. A second finger gives the aim
 *        up: two fingers move and enlarge.
 * @typedef {object} Heard
 * @property {(dx: number, dy: number) => void} move
 * @property {(factor: number, at: Point) => void} zoom
 * @property {() => void} fit
 * @property {((stage: "press" | "move" | "lift" | "away", at: Point) => boolean) | undefined} [aim]
 */

const WHEEL_STEP = 0.0016;
const TAP_PX = 10;
const TWO_TAPS_MS = 350;
const TWICE = 2;
export const KEY_ZOOM = 1.4;

/**
 * @param {HTMLElement} element
 * @param {() => Heard} heard  asked each time, since what is to be done changes
 * @returns {() => void}  stops listening
 */
export function listen(element, heard) {
  /** Fingers that are down, by their number. @type {Map<number, Point>} */
  const down = new Map();
  let isAiming = false;
  /** Where the first finger came down, and whether it stayed there. */
  let pressed = { at: /** @type {Point} */ ([0, 0]), isTap: false };
  let lastTap = { at: /** @type {Point} */ ([0, 0]), when: 0 };

  const placeOf = (/** @type {MouseEvent} */ event) => {
    const box = element.getBoundingClientRect();
    return /** @type {Point} */ ([event.clientX - box.left, event.clientY - box.top]);
  };
  const tap = (/** @type {Point} */ at) => {
    const now = Date.now();
    const isSecond = now - lastTap.when < TWO_TAPS_MS && apart(at, lastTap.at) < 3 * TAP_PX;
    if (isSecond) heard().zoom(TWICE, at);
    lastTap = { at, when: isSecond ? 0 : now };
  };

  const onDown = (/** @type {PointerEvent} */ event) => {
    if (event.button !== 0 || isControl(event)) return;
    element.setPointerCapture(event.pointerId);
    const at = placeOf(event);
    down.set(event.pointerId, at);
    const { aim } = heard();
    if (down.size === 1) {
      pressed = { at, isTap: true };
      isAiming = aim?.("press", at) ?? false;
    } else {
      pressed.isTap = false;
      if (isAiming) aim?.("away", at);
      isAiming = false;
    }
  };
  const onMove = (/** @type {PointerEvent} */ event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const at = placeOf(event);
    const { move, zoom, aim } = heard();
    if (apart(at, pressed.at) > TAP_PX) pressed.isTap = false;
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    down.set(event.pointerId, at);
    if (isAiming) {
      aim?.("move", at);
    } else if (other) {
      const middle = /** @type {Point} */ ([(at[0] + other[0]) / 2, (at[1] + other[1]) / 2]);
      move((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
      zoom(Math.max(1, apart(at, other)) / Math.max(1, apart(before, other)), middle);
    } else {
      move(at[0] - before[0], at[1] - before[1]);
    }
  };
  const onUp = (/** @type {PointerEvent} */ event) => {
    if (!down.delete(event.pointerId)) return;
    const at = placeOf(event);
    if (isAiming) {
      heard().aim?.(event.type === "pointerup" ? "lift" : "away", at);
      isAiming = false;
    } else if (down.size === 0 && pressed.isTap && event.type === "pointerup") {
      tap(at);
    }
  };
  const onWheel = (/** @type {WheelEvent} */ event) => {
    event.preventDefault();
    const pixels = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? event.deltaY * 20 : event.deltaY;
    heard().zoom(Math.exp(-pixels * WHEEL_STEP), placeOf(event));
  };
  const onKey = (/** @type {KeyboardEvent} */ event) => {
    if (event.defaultPrevented || event.target !== element) return;
    const { width, height } = element.getBoundingClientRect();
    const { move, zoom, fit } = heard();
    const middle = /** @type {Point} */ ([width / 2, height / 2]);
    /** @type {Record<string, () => void>} */
    const keys = {
      ArrowLeft: () => move(width / 10, 0),
      ArrowRight: () => move(-width / 10, 0),
      ArrowUp: () => move(0, height / 10),
      ArrowDown: () => move(0, -height / 10),
      "+": () => zoom(KEY_ZOOM, middle),
      "=": () => zoom(KEY_ZOOM, middle),
      "-": () => zoom(1 / KEY_ZOOM, middle),
      "0": fit,
    };
    const meant = keys[event.key];
    if (!meant || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    meant();
  };

  element.addEventListener("pointerdown", onDown);
  element.addEventListener("pointermove", onMove);
  element.addEventListener("pointerup", onUp);
  element.addEventListener("pointercancel", onUp);
  element.addEventListener("wheel", onWheel, { passive: false });
  element.addEventListener("keydown", onKey);
  return () => {
    element.removeEventListener("pointerdown", onDown);
    element.removeEventListener("pointermove", onMove);
    element.removeEventListener("pointerup", onUp);
    element.removeEventListener("pointercancel", onUp);
    element.removeEventListener("wheel", onWheel);
    element.removeEventListener("keydown", onKey);
  };
}

/** A button or slider that lies on the pane. @param {PointerEvent} event */
function isControl(event) {
  return event.target instanceof Element && event.target.closest("button, input, [role=slider]");
}

/** @param {Point} a @param {Point} b */
function apart(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}
