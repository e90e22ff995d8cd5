import assert from "node:assert/strict";
import { test } from "node:test";

import { later, read, START, tick, write } from "../../frontend/store/clock.js";

const DEVICE = "0197a000-0000-7000-8000-000000000001";

test("a reading is written in the form that sorts as text", () => {
  assert.equal(write({ ms: 5, counter: 255 }, DEVICE), `0000000000005-00ff-${DEVICE}`);
  assert.ok(write({ ms: 9, counter: 0xffff }, DEVICE) < write({ ms: 10, counter: 0 }, DEVICE));
  assert.deepEqual(read(write({ ms: 1_700_000_000_000, counter: 10 }, DEVICE)), {
    ms: 1_700_000_000_000,
    counter: 10,
  });
});

test("time goes on when the wall clock stands still, is put back, or the counter is full", () => {
  const first = tick(START, 1000);
  const second = tick(first, 1000);
  const third = tick(second, 400);
  assert.deepEqual(
    [first, second, third],
    [0, 1, 2].map((counter) => ({ ms: 1000, counter })),
  );
  assert.deepEqual(tick({ ms: 1000, counter: 0xffff }, 1000), { ms: 1001, counter: 0 });
});

test("what follows a reading from elsewhere is later than it", () => {
  const own = { ms: 1000, counter: 3 };
  assert.deepEqual(later(own, { ms: 1000, counter: 4 }), { ms: 1000, counter: 4 });
  assert.deepEqual(later(own, { ms: 999, counter: 9 }), own);
  assert.deepEqual(later(own, read("no reading at all")), own);
});
