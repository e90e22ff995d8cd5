import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";

import {
  apply,
  areaOf,
  crossesItself,
  fromCorners,
  fromScale,
  intervalOf,
  inverse,
  lengthOf,
  mirrored,
  multiply,
  placedAgain,
  tapErrorPx,
  WrongPoints,
} from "../../frontend/imaging/geometry.js";

// Worked out by OpenCV and NumPy: tests/imaging/sheet_geometry.py.
const told = JSON.parse(
  await readFile(new URL("../../fixtures/sheet-geometry.json", import.meta.url), "utf8"),
);
const SQUARE = [[0, 0], [400, 0], [400, 300], [0, 300]];
const KNOWN = { width_mm: 40, height_mm: 30, sheet_uncertainty_mm: 0.5, tap_px: 2 };

function near(found, wanted, share, what) {
  assert.ok(Math.abs(found - wanted) <= share * Math.abs(wanted) + 1e-9, `${what}: ${found}, not ${wanted}`);
}

function agrees(placed, known) {
  near(placed.uncertainty_mm, known.uncertainty_mm, 1e-4, "uncertainty");
  const kinds = { line: lengthOf, outline: areaOf, chains: intervalOf };
  for (const [name, function_] of Object.entries(kinds)) {
    const found = function_(placed, known[name].points);
    near(found.value, known[name].value, 1e-9, name);
    near(found.uncertainty, known[name].uncertainty, 1e-4, `${name}, uncertainty`);
  }
}

for (const [name, camera] of Object.entries(told.cameras)) {
  test(`corners of a picture taken ${name} give its millimetres`, () => {
    const placed = fromCorners(camera.corners, told.sheet);
    placed.matrix.forEach((value, at) => near(value, camera.matrix[at], 1e-8, `matrix ${at}`));
    // An inverse may be scaled as one likes.
    const back = inverse(placed.matrix);
    camera.inverse.forEach((value, at) =>
      near(back[at] / back[8], value / camera.inverse[8], 1e-6, `inverse ${at}`),
    );
    told.pixels.forEach((pixel, at) => {
      const [x, y] = apply(placed.matrix, pixel);
      near(x, camera.pixels_mm[at][0], 1e-8, "x");
      near(y, camera.pixels_mm[at][1], 1e-8, "y");
    });
    near(placed.mm_per_px, camera.mm_per_px, 1e-5, "mm per pixel");
    assert.equal(placed.caution, "");
    agrees(placed, camera);
  });
}

test("a scale bar gives the picture its millimetres, less surely away from it", () => {
  const { bar } = told;
  const picture = { width_px: bar.picture[0], height_px: bar.picture[1] };
  const known = { ...bar, picture, tap_px: told.sheet.tap_px };
  const placed = fromScale(bar.points, known);
  near(placed.mm_per_px, bar.mm_per_px, 1e-9, "mm per pixel");
  const [a, b] = bar.points.map((point) => apply(placed.matrix, point));
  near(Math.hypot(a[0] - b[0], a[1] - b[1]), bar.length_mm, 1e-9, "length");
  assert.match(placed.caution, /wrong by about \d+ %/);
  agrees(placed, bar);
});

test("corners come out exactly at the sheet's corners", () => {
  const { corners } = told.cameras["held by hand"];
  const { matrix } = fromCorners(corners, told.sheet);
  const [w, h] = [told.sheet.width_mm, told.sheet.height_mm];
  [[0, 0], [w, 0], [w, h], [0, h]].forEach(([x, y], at) => {
    const found = apply(matrix, corners[at]);
    assert.ok(Math.hypot(found[0] - x, found[1] - y) < 1e-9);
  });
});

test("lines that stand unevenly make the interval less sure than the taps alone", () => {
  const placed = fromCorners(told.cameras.square.corners, { ...told.sheet, tap_px: 0.5 });
  const even = [[10, 9], [35, 9], [60, 9], [85, 9]];
  const uneven = [[10, 9], [37, 9], [58, 9], [85, 9]];
  assert.ok(intervalOf(placed, uneven).uncertainty > 3 * intervalOf(placed, even).uncertainty);
});

test("what a placing keeps is enough to be as sure again", () => {
  const { corners } = told.cameras["held by hand"];
  const picture = { width_px: 3400, height_px: 2700 };
  const kept = (kind, points, size_mm, { mm_per_px, uncertainty_mm }) =>
    ({ kind, points, size_mm, mm_per_px, uncertainty_mm });
  const first = fromCorners(corners, told.sheet);
  const placing = kept("corners", corners, [300, 225], first);
  const again = placedAgain(first.matrix, placing, 1, picture, () => null);
  assert.equal(again.tap_px, 0);
  const outline = told.cameras["held by hand"].outline;
  const tapped = { ...again, tap_px: told.sheet.tap_px };
  near(areaOf(tapped, outline.points).uncertainty, outline.uncertainty, 1e-4, "area");

  const aligned = { ...kept("aligned", [], [], first), photograph: "p" };
  aligned.uncertainty_mm = Math.hypot(first.uncertainty_mm, 0.4);
  const other = placedAgain(first.matrix, aligned, 1, picture, (id) => (id === "p" ? placing : null));
  near(other.tap_px, 0.4 / first.mm_per_px, 1e-6, "what the alignment adds");
  assert.throws(() => placedAgain(first.matrix, aligned, 1, picture, () => null), /is gone/);

  const { points, length_mm, length_uncertainty_mm } = told.bar;
  const bar = fromScale(points, { length_mm, length_uncertainty_mm, tap_px: 3, picture });
  const by_bar = placedAgain(bar.matrix, kept("scale", points, [length_mm], bar), 1, picture, () => null);
  const { line } = told.bar;
  near(lengthOf({ ...by_bar, tap_px: 3 }, line.points).uncertainty, line.uncertainty, 1e-4, "by the scale");
});

test("a tap is the surer the larger the picture is shown, to the sharpness of paper", () => {
  assert.equal(tapErrorPx(0.25), 8);
  assert.equal(tapErrorPx(1), 2);
  assert.equal(tapErrorPx(40), 0.5);
});

test("corners that cannot be those of a sheet are told in a sentence", () => {
  const [a, b, c, d] = SQUARE;
  const cases = [
    [[a, c, b, d], /cross/],
    [[a, d, c, b], /anticlockwise/],
    [[a, [200, 2], b, d], /top right corner lies on a line/],
    [[a, b, [150, 100], d], /bottom right corner lies inside/],
    [[a, [5, 5], c, d], /top left corner and the top right corner are only 7 pixels apart/],
    [[a, b, c], /four corners/],
  ];
  for (const [points, sentence] of cases) {
    assert.throws(() => fromCorners(points, KNOWN), (error) =>
      error instanceof WrongPoints && sentence.test(error.message));
  }
  const picture = { width_px: 399, height_px: 300 };
  assert.throws(() => fromCorners(SQUARE, { ...KNOWN, picture }), /top right corner lies outside/);
});

test("ends of a scale too near each other are refused", () => {
  const picture = { width_px: 100, height_px: 100 };
  const known = { length_mm: 50, length_uncertainty_mm: 0.1, tap_px: 2, picture };
  assert.throws(() => fromScale([[10, 10], [15, 10]], known), /too near/);
  assert.throws(() => fromScale([[10, 10], [110, 10]], known), /second end lies outside/);
});

test("a sheet whose width and height were changed over raises a doubt", () => {
  assert.equal(fromCorners(SQUARE, KNOWN).caution, "");
  assert.match(fromCorners(SQUARE, { ...KNOWN, width_mm: 30, height_mm: 40 }).caution, /exchanged/);
});

test("the verso mirrors x and nothing else, and back", () => {
  assert.deepEqual(mirrored([10, 20], 300), [290, 20]);
  assert.deepEqual(mirrored(mirrored([10, 20], 300), 300), [10, 20]);
});

test("a matrix after its inverse leaves every point where it was", () => {
  const { matrix } = fromCorners(told.cameras.turned.corners, told.sheet);
  const same = multiply(inverse(matrix), matrix);
  const [x, y] = apply(same, [1234, 567]);
  assert.ok(Math.hypot(x - 1234, y - 567) < 1e-6);
  assert.throws(() => inverse([1, 2, 3, 2, 4, 6, 0, 0, 1]), WrongPoints);
});

test("an outline that crosses itself is seen", () => {
  assert.equal(crossesItself(SQUARE), false);
  assert.equal(crossesItself([SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]]), true);
});
