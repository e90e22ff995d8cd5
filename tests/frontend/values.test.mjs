import assert from "node:assert/strict";
import { test } from "node:test";

import { fieldName, valueInWords } from "../../frontend/components/questions/values.js";
import { vocabulary } from "../../frontend/store/vocabulary.js";

const named = (code, name) => ({ code, name });
vocabulary.value = {
  ...vocabulary.value,
  grades: [named("fair", "Fair")],
  lights: [named("raking", "Raking light"), named("normal", "Normal light")],
  hazards: [named("wet", "Wet")],
};

for (const [field, value, words] of [
  ["grade", "fair", "Fair"],
  ["lights", ["raking", "normal"], "Raking light, Normal light"],
  ["hazards", ["wet"], "Wet"],
  ["hazards", [], "Nothing said"],
  ["severity", "", "Nothing said"],
  ["severity", "severe", "Severe"],
  ["nothing_seen", false, "No"],
  ["sheet_width_mm", 310.5, "310.5 mm"],
  ["azimuth_deg", 290, "290°"],
  ["hours", 1.5, "1.5 hours"],
  ["notes", "Cockled.", "Cockled."],
  ["deleted", true, "Deleted the record"],
  ["deleted", false, "Wrote in the record, which keeps it"],
  ["purpose", "bench", "Bench examination"],
  [
    "region",
    { kind: "polygon", points: [[10, 20], [50, 20], [50, 45], [30, 44.6], [10, 45]] },
    "A region with 5 corners, about 40 mm wide and 25 mm high, 10 mm from the left and 20 mm from the top of the sheet",
  ],
  ["lamp_s", 725, "12 min 5 s"],
  ["lamp_s", 7800, "2 h 10 min"],
  ["kind", "countermark", "Countermark"],
  ["seen_from", "felt", "Felt side"],
  ["match", "type", "Of the same type only"],
  ["stage", "arrival", "Arrival"],
  ["glazing", "cracked", "Cracked"],
  ["answer", "not-visible", "Not visible"],
  ["answer", "", "Nothing said"],
  ["temperature_c", -2.5, "−2.5 °C"],
  ["humidity_percent", 48, "48 %"],
  ["hours_acclimatised", 24, "24 hours"],
  ["now", "0190-key", "One of its observations"],
  ["repertory_from_year", 1720, "1720"],
  ["photograph", "0190-key", "One of its photographs"],
  [
    "placing",
    { kind: "corners", points: [], size_mm: [310.5, 225], mm_per_px: 0.1, uncertainty_mm: 0.5 },
    "By the sheet's four corners, of a sheet 310.5 × 225 mm (width × height), about 10 pixels to the millimetre, to within 0.5 mm",
  ],
  [
    "placing",
    { kind: "aligned", points: [], size_mm: [], mm_per_px: 0.125, uncertainty_mm: 0.6, photograph: "p" },
    "By another photograph of the same side, about 8 pixels to the millimetre, to within 0.6 mm",
  ],
  ["points", [[10, 20.4], [30, 40]], "A line of 2 points that begins 10 mm right and 20 mm down on the sheet"],
  [
    "shot_check",
    { sharp: false, steady: true, exposed: true, sentences: ["Not sharp: take it again."] },
    "Checked after the shot. Not sharp: take it again.",
  ],
  [
    "shot_check",
    { sharp: true, steady: true, exposed: true, sentences: [] },
    "Checked after the shot: sharp, steady and well exposed.",
  ],
  ["mark", { photograph: "p", x: 0.3, y: 0.456 }, "A place 30 % across the photograph and 46 % down"],
  [
    "homography",
    [0.1, 0, -12, 0, 0.1, -8, 0, 0, 1],
    "The photograph's top left corner lies −12 mm right and −8 mm down from the sheet's, about 10 pixels to the millimetre",
  ],
  [
    "position",
    { latitude: 50.1, longitude: -5.25, accuracy_m: 12.4 },
    "Latitude 50.10000°, longitude −5.25000°, to within 12 m",
  ],
]) {
  test(`${field} ${JSON.stringify(value)} is said in words`, () => {
    assert.equal(valueInWords(field, value), words);
  });
}

test("a measured value has the unit of its record", () => {
  assert.equal(valueInWords("value", 12, { unit: "mm2" }), "12 mm²");
});

test("places are named by whoever knows them", () => {
  assert.equal(valueInWords("location", "id", undefined, () => "Store › Shelf 4"), "Store › Shelf 4");
});

test("fields are named without their units", () => {
  assert.equal(fieldName("sheet_width_mm"), "sheet width");
  assert.equal(fieldName("lamp_s"), "ultraviolet lamp time");
  assert.equal(fieldName("to_left_chain_mm"), "distance to the chain line at the left");
  assert.equal(fieldName("lights"), "lights that show it");
});
