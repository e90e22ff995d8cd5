import assert from "node:assert/strict";
import { test } from "node:test";

import { bytes, count, named, optionsOf, sheetSize } from "../../frontend/components/wording.js";

test("one thing has no plural, and thousands are set apart", () => {
  assert.equal(count(1, "record"), "1 record");
  assert.equal(count(0, "record"), "0 records");
  assert.equal(count(2000, "object"), "2,000 objects");
});

test("sizes are in decimal units and never read as 1000 of one", () => {
  assert.equal(bytes(0), "0 bytes");
  assert.equal(bytes(999), "999 bytes");
  assert.equal(bytes(1000), "1 kB");
  assert.equal(bytes(4_250_000), "4.3 MB");
  assert.equal(bytes(999_700), "1 MB");
  assert.equal(bytes(48_200_000), "48 MB");
  assert.equal(bytes(1_300_000_000_000), "1300 GB");
});

test("a sheet has a size only when both sides are known, height first", () => {
  assert.equal(sheetSize(271, 352), "271 × 352 mm");
  assert.equal(sheetSize(null, 352), "");
  assert.equal(sheetSize(271, undefined), "");
});

test("codes have words, and a code nobody knows is shown as it is", () => {
  assert.equal(named("extent", "edge"), "Along an edge");
  assert.equal(named("extent", ""), "");
  assert.equal(named("extent", "everywhere"), "everywhere");
  assert.deepEqual(optionsOf("side"), [
    { value: "recto", label: "Recto" },
    { value: "verso", label: "Verso" },
  ]);
});
