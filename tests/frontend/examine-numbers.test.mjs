import assert from "node:assert/strict";
import { test } from "node:test";

import {
  readHours,
  readLength,
  readSheetSide,
  readUncertainty,
} from "../../frontend/components/examine/numbers.js";

test("a number may have a point, a comma or spaces", () => {
  assert.equal(readSheetSide("412.5").value, 412.5);
  assert.equal(readSheetSide(" 412,5 ").value, 412.5);
  assert.equal(readSheetSide("1 250").value, 1250);
});

test("an empty field is no number and no fault", () => {
  for (const read of [readSheetSide, readLength, readUncertainty, readHours]) {
    assert.deepEqual(read("  "), { value: null });
  }
});

test("what is not a number gets a sentence that quotes it", () => {
  for (const typed of ["abc", "12 mm", "1.2.3", "1e9", "Infinity", "0x10"]) {
    const { sentence, value } = readSheetSide(typed);
    assert.equal(value, undefined);
    assert.ok(sentence.includes(`“${typed}” is not a number`), sentence);
  }
});

test("a sheet of nothing, less than nothing, or a street long is refused", () => {
  assert.match(readSheetSide("0").sentence, /at least 1 mm/);
  assert.match(readSheetSide("-5").sentence, /at least 1 mm/);
  assert.match(readSheetSide("−5").sentence, /at least 1 mm/);
  assert.match(readSheetSide("225000").sentence, /225,000 mm is 225 m/);
  assert.equal(readSheetSide("1").value, 1);
  assert.equal(readSheetSide("10000").value, 10_000);
});

test("each kind of number has its own bounds", () => {
  assert.match(readLength("0").sentence, /more than 0 mm/);
  assert.equal(readLength("0.2").value, 0.2);
  assert.match(readUncertainty("0").sentence, /at least 0.01 mm/);
  assert.match(readUncertainty("101").sentence, /at most 100 mm/);
  assert.equal(readHours("0").value, 0);
  assert.match(readHours("-1").sentence, /0 or more/);
  assert.match(readHours("2001").sentence, /more than 2,000 hours/);
});
