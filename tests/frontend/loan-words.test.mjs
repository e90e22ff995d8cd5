import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { test } from "node:test";

import { whyByEdges } from "../../frontend/components/check/compare-then-now.js";
import { nearTo } from "../../frontend/components/check/earlier-picture.js";
import { ranked } from "../../frontend/components/check/earlier-pictures.js";
import { usualReasons } from "../../frontend/components/check/reason.js";
import { readHoursClosed, readHumidity, readTemperature } from "../../frontend/components/examine/numbers.js";
import { carriedInWords } from "../../frontend/components/loan/carrying-words.js";
import { conditionsOf } from "../../frontend/components/loan/condition-rows.js";
import { adviceOn, agreed } from "../../frontend/components/loan/conditions.js";

const NOTHING_AGREED = {
  most_lux: null, most_ultraviolet_uw_lm: null, coolest_c: null, warmest_c: null, driest_percent: null,
  dampest_percent: null, steepest_display_deg: null, hours_to_acclimatise: null,
};
const LOAN = {
  ...NOTHING_AGREED, most_lux: 50, coolest_c: 18, warmest_c: 22, driest_percent: 45, dampest_percent: 55,
  hours_to_acclimatise: 48,
};
const NOTHING_SAID = {
  stage: "arrival", crate: "", hours_acclimatised: null, seals_whole: "", temperature_c: null, humidity_percent: null, glazing: "",
};

test("what was agreed is told with its units, and what was not is left out", () => {
  assert.deepEqual(agreed(LOAN), [
    ["Temperature", "18 to 22 °C"],
    ["Relative humidity", "45 to 55 %"],
    ["Light", "at most 50 lx"],
    ["Closed crate", "stands 48 h before it is opened"],
  ]);
  assert.deepEqual(agreed({ ...NOTHING_AGREED, coolest_c: 16 }), [["Temperature", "at least 16 °C"]]);
  assert.deepEqual(agreed(NOTHING_AGREED), []);
});

test("a crate that was closed for too short a time says how much longer", () => {
  const advice = (said, loan = LOAN) => adviceOn({ ...NOTHING_SAID, ...said }, loan)["Time in the closed crate"];
  assert.equal(advice({ hours_acclimatised: 30.5 }), "Leave the crate closed for 17.5 h more, or ask the lender.");
  assert.equal(advice({ hours_acclimatised: 48 }), undefined);
  assert.equal(advice({}), undefined);
  // 24 h where nothing was agreed.
  assert.match(advice({ hours_acclimatised: 20 }, NOTHING_AGREED), /for 4 h more/);
  assert.equal(advice({ hours_acclimatised: 1, stage: "outgoing" }), undefined);
});

test("broken seals and glazing say what to do, under the names of the rows they stand with", () => {
  const check = { ...NOTHING_SAID, seals: "", logger: "", seals_whole: "no", glazing: "broken", hours_acclimatised: 1 };
  const advice = adviceOn(check, LOAN);
  assert.match(advice.Seals, /call the lender/);
  assert.match(advice.Glazing, /where it lies/);
  const names = conditionsOf(check, LOAN, undefined).map(({ name }) => name);
  assert.deepEqual(Object.keys(advice).filter((name) => !names.includes(name)), []);
});

test("numbers that cannot be right are told with their bounds", () => {
  assert.equal(readTemperature("-12,5").value, -12.5);
  assert.match(readTemperature("68").sentence, /−40 to 60 °C/);
  assert.match(readHumidity("101").sentence, /0 to 100 %/);
  assert.match(readHoursClosed("-1").sentence, /0 or more/);
  assert.match(readHoursClosed("1001").sentence, /more than 1,000 hours/);
});

const CARRIED = { pictures: 30, here: 24, bytes: 12_400_000, absent: [], rows: true };
const ONLINE = { busy: false, online: true, isAppKept: true };

test("all is said to be here only when it is", () => {
  const whole = { ...CARRIED, here: 30 };
  assert.match(carriedInWords(whole, ONLINE, "phone").sentence, /^All of it is on this phone: 30 pictures, 12 MB/);
  for (const [carried, how] of [
    [CARRIED, ONLINE],
    [{ ...whole, rows: false }, ONLINE],
    [whole, { ...ONLINE, isAppKept: false }],
    [{ ...CARRIED, absent: Array(6).fill({ sha256: "a", why: "b" }) }, ONLINE],
  ]) {
    const { state, sentence } = carriedInWords(carried, how, "phone");
    assert.notEqual(state, "whole");
    assert.doesNotMatch(sentence, /^All of it/);
  }
});

test("how far it has come is told, and what it needs", () => {
  const said = (how) => carriedInWords(CARRIED, { ...ONLINE, ...how }, "phone").sentence;
  assert.equal(said({ busy: true }), "24 of 30 pictures carried, 12 MB. Keep the network.");
  assert.equal(said({ online: false }), "24 of 30 pictures carried, 12 MB. The rest needs a network.");
});

test("a place is shown with its surroundings, and not closer than a fifth of the sheet", () => {
  const sheet = { left: 0, top: 0, right: 300, bottom: 200 };
  assert.deepEqual(nearTo([[100, 100]], sheet), { left: 70, top: 70, right: 130, bottom: 130 });
  const { left, right, top, bottom } = nearTo([[0, 50], [100, 50], [100, 90]], sheet);
  assert.deepEqual([left, right, top, bottom].map(Math.round), [0, 220, 0, 200]);
});

test("what lies over the whole sheet is shown no smaller than the whole sheet is", () => {
  const sheet = { left: 0, top: 0, right: 155, bottom: 235 };
  assert.deepEqual(nearTo([[3, 3], [152, 3], [152, 232], [3, 232]], sheet), sheet);
  // At a corner nothing beyond the edges takes room from what there is to see.
  assert.deepEqual(nearTo([[155, 235]], sheet), { left: 108, top: 188, right: 155, bottom: 235 });
});

test("the photograph that shows the place comes first, in a light that shows the fault", () => {
  const photograph = (id, light, side, homography = [1, 0, 0, 0, 1, 0, 0, 0, 1]) => ({ id, light, side, homography, placing: null });
  const all = [
    photograph("verso", "raking", "verso"),
    photograph("loose", "raking", "recto", null),
    photograph("normal", "normal", "recto"),
    photograph("raking", "raking", "recto"),
  ];
  const seen = { side: "recto", lights: ["raking"], region: { points: [[1, 1]] }, mark: null };
  assert.deepEqual(ranked(all, seen).map(({ id }) => id), ["raking", "normal", "loose", "verso"]);
  // A watermark: of the lights that show it, the one that is named first.
  const through = [...all, photograph("transmitted", "transmitted", "recto")];
  for (const lights of [["transmitted", "raking"], ["specular", "transmitted", "raking"]]) {
    const found = ranked(through, { ...seen, lights }).map(({ id }) => id);
    assert.deepEqual(found, ["transmitted", "raking", "normal", "loose", "verso"]);
  }
  const marked = { ...seen, region: null, mark: { photograph: "loose", x: 0.5, y: 0.5 } };
  assert.equal(ranked(all, marked)[0].id, "loose");
});

test("what hinders on the verso only is no reason for a point on the recto", () => {
  for (const [why, reason] of [["unseen", "Verso not accessible"], ["left", "The sheet is not to be turned"]]) {
    assert.ok(usualReasons(why, "verso").includes(reason));
    assert.ok(!usualReasons(why, "recto").includes(reason));
    assert.ok(usualReasons(why, "recto").length > 1);
  }
});

test("it is said which of then and now does not lie on the sheet", () => {
  const placed = { homography: [1, 0, 0, 0, 1, 0, 0, 0, 1], placing: null };
  const loose = { homography: null, placing: null };
  assert.equal(whyByEdges(placed, placed), "");
  assert.match(whyByEdges(placed, loose), /^The new photograph is not placed/);
  assert.match(whyByEdges(loose, loose), /^The earlier photograph is not placed/);
});
