/** A hand on a field, by finger, pen or mouse. The desk's pages take signatures by it too. */

/** @typedef {[number, number][]} Stroke  in thousandths of the width of the field that was signed */
/** @typedef {Stroke[]} Strokes */

export const WIDTH = 1000;
/** The height of the field, in thousandths of its width. */
export const HEIGHT = 400;
/** As many as the server takes. */
export const MOST_STROKES = 500;
export const MOST_POINTS = 20_000;

/**
 * Tells of strokes that are drawn on a field, one after the other: while one is under way, another
 * finger, or the palm, does not draw.
 *
 * @param {SVGSVGElement} field
 * @param {object} on
 * @param {() => Strokes} on.before  the strokes that stand there
 * @param {(stroke: Stroke) => void} on.grown  gets the stroke under way, after each move; empty at its end
 * @param {(stroke: Stroke) => void} on.drawn  gets it once it is done
 * @param {AbortSignal} [signal]  ends it
 */
export function followHand(field, { before, grown, drawn }, signal) {
  /** @type {number | null} */
  let pointer = null;
  /** @type {Stroke} */
  let stroke = [];
  const listen = (/** @type {string} */ name, /** @type {(event: PointerEvent) => void} */ heard) =>
    field.addEventListener(name, /** @type {EventListener} */ (heard), { signal });

  const extend = (/** @type {PointerEvent} */ event) => {
    const box = field.getBoundingClientRect();
    const passed = event.getCoalescedEvents?.() ?? [];
    const room = MOST_POINTS - before().flat().length;
    stroke = [...stroke];
    for (const each of passed.length ? passed : [event]) {
      const at = placeIn(box, each);
      const last = stroke.at(-1);
      if (stroke.length < room && !(last && last[0] === at[0] && last[1] === at[1])) stroke.push(at);
    }
    grown(stroke);
  };
  listen("pointerdown", (event) => {
    if (pointer !== null || event.button !== 0 || before().length >= MOST_STROKES) return;
    event.preventDefault();
    pointer = event.pointerId;
    field.setPointerCapture(event.pointerId);
    extend(event);
  });
  listen("pointermove", (event) => {
    if (event.pointerId === pointer) extend(event);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    listen(name, (event) => {
      if (event.pointerId !== pointer) return;
      const done = stroke;
      pointer = null;
      stroke = [];
      grown(stroke);
      if (done.length) drawn(done);
    });
  }
}

/** A tap that did not move is a dot. @param {Stroke} stroke */
export function pathOf(stroke) {
  const [[x, y], ...others] = stroke;
  return `M${x} ${y}${others.length ? others.map(([px, py]) => `L${px} ${py}`).join("") : "h0"}`;
}

/** @param {DOMRect} box @param {{clientX: number, clientY: number}} event @returns {[number, number]} */
function placeIn({ left, top, width }, { clientX, clientY }) {
  const share = (/** @type {number} */ pixels, /** @type {number} */ most) =>
    Math.round(Math.min(most, Math.max(0, (WIDTH * pixels) / width)));
  return [share(clientX - left, WIDTH), share(clientY - top, HEIGHT)];
}
