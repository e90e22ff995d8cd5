import assert from "node:assert/strict";
import test from "node:test";

import { wantedBy } from "../../frontend/store/wanted.js";

test("a text is wanted that has every word of the search, in any order", () => {
  const isWanted = wantedBy("  Shelf store ");
  assert.equal(isWanted("Paper store › Box rack 2 › Shelf 4"), true);
  assert.equal(isWanted("Paper store › Plan chest 1"), false);
});

test("an empty search wants everything", () => {
  assert.equal(wantedBy(" ")("anything"), true);
});
