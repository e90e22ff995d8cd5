import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { test } from "node:test";

import { unsaidOf } from "../../frontend/components/examine/words.js";
import { notedOf } from "../../frontend/components/loan/condition-rows.js";
import { answerName, inFours, lackingOf, resultOf } from "../../frontend/components/loan/words.js";
import { fileName, pageRules, signedPart } from "../../frontend/components/report/save.js";
import { boxAround, labelsOf, scaleOf, shapesIn, shapesOn, shownBest } from "../../frontend/components/report/shapes.js";
import { pathOf } from "../../frontend/components/sign/drawing.js";
import { day, moment } from "../../frontend/components/wording.js";

// 10 pixels to the millimetre, the sheet's corner 100 pixels in; a sheet of 120 × 90 mm.
const PLACED = {
  id: "p", light: "normal", side: "recto",
  homography: [0.1, 0, -10, 0, 0.1, -10, 0, 0, 1],
  placing: { kind: "corners" },
};
const SIZE = { width_px: 1400, height_px: 1100 };
const SHEET = { width_mm: 120, height_mm: 90 };
const seen = (number, fields) => ({ number, side: "recto", places: [], observation: { mark: null }, ...fields });
const state = (...all) => ({ seen: all, sheet: SHEET });
const rounded = (shapes) => shapes.map(({ points, ...rest }) => ({ ...rest, points: points.map((at) => at.map(Math.round)) }));

test("an outline in sheet millimetres is drawn where the photograph has it", () => {
  const shapes = shapesOn(PLACED, SIZE, state(seen(1, { places: [[0, 0], [120, 0], [120, 90]] })));
  assert.deepEqual(rounded(shapes), [{ number: 1, isBehind: false, points: [[100, 100], [1300, 100], [1300, 1000]] }]);
});

test("a mark is drawn on its own photograph only, as a share of the upright picture", () => {
  const unplaced = { ...PLACED, homography: null };
  const marked = seen(2, { observation: { mark: { photograph: "p", x: 0.5, y: 0.25 } } });
  assert.deepEqual(shapesOn(unplaced, SIZE, state(marked)), [{ number: 2, isBehind: false, points: [[700, 275]] }]);
  assert.deepEqual(shapesOn({ ...unplaced, id: "q" }, SIZE, state(marked)), []);
});

test("the other side is seen through the sheet by transmitted light alone, mirrored", () => {
  const behind = state(seen(1, { side: "verso", places: [[20, 10]] }));
  assert.deepEqual(shapesOn(PLACED, SIZE, behind), []);
  const through = shapesOn({ ...PLACED, light: "transmitted" }, SIZE, behind);
  assert.deepEqual(rounded(through), [{ number: 1, isBehind: true, points: [[1100, 200]] }]);
});

test("a scale alone says how large, not where", () => {
  const scaled = { ...PLACED, placing: { kind: "scale" } };
  assert.deepEqual(shapesOn(scaled, SIZE, state(seen(1, { places: [[20, 10]] }))), []);
  assert.deepEqual(scaleOf(scaled, SIZE, SHEET), { mm: 50, share: 500 / 1400 });
  assert.equal(scaleOf({ ...PLACED, homography: null }, SIZE, SHEET), null);
});

test("numbers that would cover each other stand together, above their place or below the edge", () => {
  const at = (number, x, y) => ({ number, isBehind: false, points: [[x, y]] });
  const labels = labelsOf([at(1, 700, 500), at(2, 720, 510), at(3, 700, 10)], SIZE);
  assert.deepEqual(labels.map(({ text, isAbove }) => [text, isAbove]), [["1, 2", true], ["3", false]]);
});

test("a detail shows a place with something round it, and stays within the photograph", () => {
  const small = boxAround([[700, 550]], SIZE);
  assert.deepEqual(small, { x: 532, y: 456, width: 336, height: 188 });
  assert.deepEqual(shapesIn([{ number: 1, points: [[700, 550]], isBehind: false }], small)[0].points, [[168, 94]]);
  const corner = boxAround([[10, 10], [60, 60]], SIZE);
  assert.deepEqual([corner.x, corner.y], [0, 0]);
  const all = boxAround([[0, 0], [1400, 0], [1400, 1100]], SIZE);
  assert.deepEqual(all, { x: 0, y: 0, width: 1400, height: 1100 });
});

test("a detail is cut from the photograph that was taken of it, else in the same light", () => {
  const raking = { ...PLACED, id: "r", light: "raking" };
  const verso = { ...PLACED, id: "v", side: "verso" };
  const both = { ...state(seen(1, { places: [[20, 10]] })), photographs: [PLACED, raking, verso] };
  assert.equal(shownBest(both, 1, { light: "raking" }).id, "r");
  assert.equal(shownBest(both, 1, { light: "ultraviolet" }).id, "p");
  assert.equal(shownBest(both, 1, { light: "raking", wanted: "v" }).id, "v");
  assert.equal(shownBest(both, 2, { light: "normal" }), null);
});

test("the file's name has number, stage and day, and nothing that a disk refuses", () => {
  assert.equal(fileName("PE.1931.6", "Arrival", "2026-11-28T12:00:00Z", true), "PE.1931.6 arrival check 2026-11-28.html");
  assert.equal(fileName('A/b:"6"', "Return", "2026-11-28T12:00:00Z", false), "A-b--6- return check 2026-11-28 draft.html");
});

test("what was signed stands in the page as it is, and cannot end its element", () => {
  const statement = '{"note":"</script><b>“ü”"}';
  const signature = { id: "s", role: "courier", name: "Kit", of: "", strokes: [], signed_at: "2026-11-28T20:28:23.123456Z", sha256: "ab" };
  const part = signedPart(statement, [signature]);
  const inside = part.slice(part.indexOf(">") + 1, part.lastIndexOf("</script>"));
  assert.ok(!inside.includes("<"));
  const said = JSON.parse(inside);
  assert.equal(said.statement, statement);
  assert.deepEqual(said.signatures, [
    { role: "courier", name: "Kit", of: "", strokes: [], signed_at: "2026-11-28T20:28:23.123Z", sha256: "ab" },
  ]);
});

test("the margins of a page hold words as words, whatever signs are in them", () => {
  const rules = pageRules({ number: 'A"\\</style>\n6', stage: "Arrival", isSigned: false, signedOn: "", checkedOn: "28 November 2026" }, "");
  assert.ok(rules.includes('content: "A\\22 \\5c \\3c /style\\3e \\a 6"'));
  assert.ok(rules.includes("DRAFT, not signed. Checked 28 November 2026"));
  assert.ok(rules.includes('"Page " counter(page) " of " counter(pages)'));
  const signed = pageRules({ number: "A", stage: "Return", isSigned: true, signedOn: "Signed 28 November 2026", checkedOn: "" }, "0123456789abcdef99");
  assert.ok(signed.includes("Signed 28 November 2026, fingerprint 0123 4567 89ab cdef …"));
});

test("a tap is a dot, a stroke a line", () => {
  assert.equal(pathOf([[1, 2]]), "M1 2h0");
  assert.equal(pathOf([[1, 2], [3, 4]]), "M1 2L3 4");
});

test("a hash is read aloud in fours", () => {
  assert.deepEqual(inFours("0123456789ab"), ["0123", "4567", "89ab"]);
});

test("a calendar date is that day wherever one is", () => {
  assert.equal(day("2026-01-05"), "5 January 2026");
});

test("a time says by which clock it is", () => {
  const zone = process.env.TZ;
  const told = ["UTC", "Europe/Paris", "America/St_Johns", "Asia/Kolkata"].map((name) => {
    process.env.TZ = name;
    return moment("2026-11-29T10:01:00Z");
  });
  if (zone === undefined) delete process.env.TZ;
  else process.env.TZ = zone;
  assert.deepEqual(told, [
    "29 November 2026, 10:01 UTC",
    "29 November 2026, 11:01 UTC+1",
    "29 November 2026, 06:31 UTC−3:30",
    "29 November 2026, 15:31 UTC+5:30",
  ]);
});

test("what nobody said of a finding is named, and nothing that does not apply to it", () => {
  const scant = { nature: "damage", severity: "", extent: "", mark: null, region: null };
  assert.equal(unsaidOf(scant), "severity, extent and place");
  assert.equal(unsaidOf({ ...scant, severity: "slight", extent: "overall" }), "");
  assert.equal(unsaidOf({ ...scant, nature: "feature", mark: { photograph: "p" } }), "extent");
});

test("a check that one side signed says who has not", () => {
  const check = { stage: "arrival", statement: "{}" };
  const half = "Signed by the courier only; the receiver has not signed.";
  assert.deepEqual(lackingOf({ check, signatures: [{ role: "courier" }] }), [half]);
  assert.deepEqual(lackingOf({ check, signatures: [{ role: "courier" }, { role: "receiver" }] }), []);
  assert.deepEqual(lackingOf({ check: { ...check, statement: "" }, signatures: [] }), []);
});

test("those who sign are shown every condition, also what was left out", () => {
  const loan = { ...AGREED, hours_to_acclimatise: null };
  const named = (stage) => notedOf({ ...CHECK, stage }, loan);
  assert.deepEqual(named("arrival"), [
    ["Crate", "Not noted"], ["Seals", "Not noted"], ["Time in the closed crate", "Not noted"],
    ["Temperature", "23.5 °C"], ["Relative humidity", "Not noted"], ["Data logger", "Not noted"], ["Glazing", "Not noted"],
  ]);
  assert.ok(!named("outgoing").some(([name]) => name === "Time in the closed crate"));
  const [, seals] = notedOf({ ...CHECK, stage: "outgoing", seals: "0417", seals_whole: "yes" }, loan);
  assert.deepEqual(seals, ["Seals", "0417; found whole"]);
});

const AGREED = { hours_to_acclimatise: null, coolest_c: 18, warmest_c: 22, driest_percent: null, dampest_percent: null };
const CHECK = { crate: "", seals: "", seals_whole: "", hours_acclimatised: null, logger: "", temperature_c: 23.5, humidity_percent: null, glazing: "" };
const point = (answer, reason = "") => ({ answer: answer === null ? undefined : { answer, reason } });
const whole = (points, found = [], examination = {}) => ({ check: CHECK, loan: AGREED, loaned: undefined, points, found, examination });

test("the result counts answers, tells what is new and what lies outside", () => {
  const points = [point("same"), point("changed", "x"), point("same"), point("", "dark"), point(null)];
  assert.deepEqual(resultOf(whole(points)), [
    "Of 5 points known before: 2 same, 1 changed, 1 left open, 1 not answered yet.",
    "Nothing new was noted.",
    "Temperature: 23.5 °C, 1.5 °C warmer than agreed.",
  ]);
  assert.equal(answerName(point("not-visible", "mat")), "Not visible");
});

test("a first check has nothing to compare with", () => {
  assert.deepEqual(resultOf(whole([], [], { nothing_seen: true })).slice(0, 2), [
    "No earlier signed state was known: this check is the first.",
    "The examiner looked and saw no damage.",
  ]);
});
