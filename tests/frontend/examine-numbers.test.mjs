import assert from "node:assert/strict";
import { test } from "node:test";

import {
  readChainLines,
  readDistance,
  readHours,
  readLength,
  readMinutes,
  readSeconds,
  readSheetSide,
  readUncertainty,
  readYear,
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

test("a distance may be nothing, but no length may", () => {
  assert.equal(readDistance("0").value, 0);
  assert.match(readDistance("-1").sentence, /0 mm or more/);
  assert.match(readLength("0").sentence, /more than 0 mm/);
});

test("time under the lamp is at most a day", () => {
  assert.equal(readMinutes("2,5").value, 2.5);
  assert.match(readMinutes("1441").sentence, /more than a day/);
  assert.equal(readSeconds("86400").value, 86400);
  assert.match(readSeconds("1.5").sentence, /whole seconds/);
});

test("chain lines are counted, and years have four figures", () => {
  assert.equal(readChainLines("0").value, 0);
  assert.match(readChainLines("1.5").sentence, /whole number/);
  assert.match(readChainLines("51").sentence, /count again/);
  assert.equal(readYear("1720").value, 1720);
  for (const typed of ["172", "17200", "1720.5"]) assert.match(readYear(typed).sentence, /four figures/);
});
