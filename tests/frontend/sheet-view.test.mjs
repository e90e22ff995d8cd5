import assert from "node:assert/strict";
import { test } from "node:test";

import { short, withUncertainty } from "../../frontend/components/examine/figures.js";
import { partOnShow } from "../../frontend/components/sheet-view/pictures.js";
import {
  barLength,
  barWords,
  fitted,
  matrixOf,
  moved,
  placeAt,
  transformOf,
  zoomed,
} from "../../frontend/components/sheet-view/view.js";
import { apply } from "../../frontend/imaging/geometry.js";

const SHEET = { left: 0, top: 0, right: 200, bottom: 100 };
const PANE = { width: 500, height: 400 };

function near(found, wanted, off = 1e-9) {
  found.forEach((value, at) => assert.ok(Math.abs(value - wanted[at]) < off, `${found}, not ${wanted}`));
}

test("the whole sheet fits into the pane, its middle in the middle", () => {
  const view = fitted(SHEET, PANE);
  assert.equal(view.scale, (500 * 0.92) / 200);
  near(apply(matrixOf(view, PANE), [100, 50]), [250, 200]);
  const raised = fitted(SHEET, PANE, 100);
  near(apply(matrixOf(raised, PANE), [100, 50]), [250, 150]);
});

test("enlarging keeps the place under the finger, within bounds", () => {
  const view = fitted(SHEET, PANE);
  const at = [300, 250];
  const place = placeAt(view, PANE, at);
  near(placeAt(zoomed(view, PANE, SHEET, 3, at), PANE, at), place);
  assert.equal(zoomed(view, PANE, SHEET, 1e6, at).scale, view.scale * 60);
  assert.equal(zoomed(view, PANE, SHEET, 1e-6, at).scale, view.scale / 2);
});

test("the sheet cannot be pushed out of the pane", () => {
  const view = moved(fitted(SHEET, PANE), SHEET, -1e5, 1e5);
  assert.deepEqual([view.x, view.y], [200, 0]);
});

test("a matrix and its CSS transform say the same", () => {
  const matrix = [2, 0.1, 30, 0.2, 3, 40, 0.0001, 0.0002, 1];
  const numbers = transformOf(matrix).slice("matrix3d(".length, -1).split(",").map(Number);
  const [x, y] = [17, 23];
  // Column by column; z is 0.
  const [u, v, , w] = [0, 1, 2, 3].map((row) => numbers[row] * x + numbers[4 + row] * y + numbers[12 + row]);
  near([u / w, v / w], apply(matrix, [x, y]));
});

test("a scale bar has a round length that fits", () => {
  assert.deepEqual([1, 2.3, 0.4, 60].map((scale) => barLength(scale, 160)), [100, 50, 200, 2]);
  assert.deepEqual([0.2, 5, 200, 2000].map(barWords), ["200 µm", "5 mm", "200 mm", "2 m"]);
});

test("a part is asked for only where the whole is too coarse, at steps that come again", () => {
  globalThis.devicePixelRatio = 1;
  const whole = { canvas: { width: 1600, height: 1200 }, width_px: 8000, height_px: 6000 };
  const shownAt = (scale, x, y) => [scale, 0, 250 - scale * x, 0, scale, 200 - scale * y, 0, 0, 1];
  // Some 500 pixels across: what is kept of the whole is finer.
  assert.equal(partOnShow(shownAt(0.06, 4000, 3000), PANE, whole), null);
  const close = partOnShow(shownAt(0.5, 4000, 3000), PANE, whole);
  assert.deepEqual(close, { x: 3072, y: 2560, width: 1536, height: 1024, longest: 768 });
  // A little aside it is the same part, so that nothing is fetched anew.
  assert.deepEqual(partOnShow(shownAt(0.5, 4020, 3010), PANE, whole), close);
  // At the edge it ends with the picture; beside it there is nothing.
  const edge = partOnShow(shownAt(1, 7950, 5950), PANE, whole);
  assert.deepEqual([edge.x + edge.width, edge.y + edge.height], [8000, 6000]);
  assert.equal(partOnShow(shownAt(1, 9000, 3000), PANE, whole), null);
});

test("a part never has more pixels than a tablet can hold", () => {
  globalThis.devicePixelRatio = 3;
  const whole = { canvas: { width: 1600, height: 1200 }, width_px: 12000, height_px: 9000 };
  const part = partOnShow([1, 0, -3000, 0, 1, -3000, 0, 0, 1], { width: 1400, height: 1000 }, whole);
  assert.ok(part.longest <= 2048);
});

test("a value has no more figures than its uncertainty bears", () => {
  assert.equal(withUncertainty({ value: 38.2371, uncertainty: 0.4123 }, "mm"), "38.2 ± 0.4 mm");
  assert.equal(withUncertainty({ value: 25.0312, uncertainty: 0.0172 }, "mm"), "25.031 ± 0.017 mm");
  assert.equal(withUncertainty({ value: 12345.6, uncertainty: 41.2 }, "mm2"), "12,346 ± 41 mm²");
  assert.equal(withUncertainty({ value: 100, uncertainty: 0.98 }, "mm"), "100.0 ± 1.0 mm");
  assert.equal(withUncertainty({ value: 12.25, uncertainty: 0 }, "mm"), "12.3 ± 0.0 mm");
  assert.equal(short(0.1234), "0.12 mm");
});
