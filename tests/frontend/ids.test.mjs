import assert from "node:assert/strict";
import { test } from "node:test";

import { newId } from "../../frontend/store/ids.js";

test("an id is a UUID of version 7 that holds its time", () => {
  const id = newId(Date.UTC(2040, 0, 1));
  assert.match(id, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.equal(parseInt(id.slice(0, 13).replace("-", ""), 16), Date.UTC(2040, 0, 1));
});

test("ids made in one millisecond, or while the clock goes back, sort as they were made", () => {
  const now = Date.UTC(2041, 0, 1);
  const ids = Array.from({ length: 10_000 }, (_, n) => newId(n % 2 ? now : now - 5000));
  assert.deepEqual(ids.toSorted(), ids);
  assert.equal(new Set(ids).size, ids.length);
});
