import assert from "node:assert/strict";
import { test } from "node:test";

import { followHand, MOST_POINTS, MOST_STROKES } from "../../frontend/components/sign/drawing.js";

/** A field 500 px wide, 200 px high, that begins 100 px from the left and 50 px from the top. */
function fieldWith(strokes = []) {
  const field = Object.assign(new EventTarget(), {
    setPointerCapture() {},
    getBoundingClientRect: () => ({ left: 100, top: 50, width: 500, height: 200 }),
  });
  const seen = { strokes, grown: [] };
  const stop = new AbortController();
  followHand(
    field,
    {
      before: () => seen.strokes,
      grown: (stroke) => seen.grown.push(stroke),
      drawn: (stroke) => (seen.strokes = [...seen.strokes, stroke]),
    },
    stop.signal,
  );
  const hand = (name, pointerId, clientX, clientY, more = {}) =>
    field.dispatchEvent(Object.assign(new Event(name), { pointerId, clientX, clientY, button: 0, ...more }));
  return { seen, hand, stop };
}

test("a stroke is kept in thousandths of the field's width, and ends at its edges", () => {
  const { seen, hand } = fieldWith();
  hand("pointerdown", 1, 100, 50);
  hand("pointermove", 1, 350, 100);
  hand("pointermove", 1, 350, 100);
  hand("pointermove", 1, 900, 900);
  assert.deepEqual(seen.strokes, []);
  hand("pointerup", 1, 900, 900);
  assert.deepEqual(seen.strokes, [[[0, 0], [500, 100], [1000, 400]]]);
  assert.deepEqual(seen.grown.at(-1), []);
});

test("moves that the browser gave together are all taken", () => {
  const { seen, hand } = fieldWith();
  const passed = [{ clientX: 110, clientY: 60 }, { clientX: 120, clientY: 70 }];
  hand("pointerdown", 1, 100, 50);
  hand("pointermove", 1, 120, 70, { getCoalescedEvents: () => passed });
  hand("pointercancel", 1, 120, 70);
  assert.deepEqual(seen.strokes, [[[0, 0], [20, 20], [40, 40]]]);
});

test("another finger, another button and a full field draw nothing", () => {
  const { seen, hand } = fieldWith();
  hand("pointerdown", 1, 100, 50, { button: 2 });
  hand("pointerdown", 1, 100, 50);
  hand("pointerdown", 2, 400, 90);
  hand("pointermove", 2, 420, 90);
  hand("pointerup", 2, 420, 90);
  hand("pointerup", 1, 100, 50);
  assert.deepEqual(seen.strokes, [[[0, 0]]]);

  const full = fieldWith(Array.from({ length: MOST_STROKES }, () => [[1, 1]]));
  full.hand("pointerdown", 1, 100, 50);
  full.hand("pointerup", 1, 100, 50);
  assert.equal(full.seen.strokes.length, MOST_STROKES);

  const nearly = fieldWith([Array.from({ length: MOST_POINTS - 1 }, (_, x) => [x % 1000, 0])]);
  nearly.hand("pointerdown", 1, 100, 150);
  nearly.hand("pointermove", 1, 200, 150);
  nearly.hand("pointerup", 1, 200, 150);
  assert.equal(nearly.seen.strokes.flat().length, MOST_POINTS);
});

test("it ends when nobody listens any more", () => {
  const { seen, hand, stop } = fieldWith();
  stop.abort();
  hand("pointerdown", 1, 100, 50);
  hand("pointerup", 1, 100, 50);
  assert.deepEqual(seen.strokes, []);
});
