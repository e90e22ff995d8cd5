import assert from "node:assert/strict";
import { test } from "node:test";

import { azimuthOf, turned, whence } from "../../frontend/components/examine/azimuth.js";

test("the azimuth runs clockwise from the top edge", () => {
  assert.equal(azimuthOf(0, -10), 0);
  assert.equal(azimuthOf(10, 0), 90);
  assert.equal(azimuthOf(0, 10), 180);
  assert.equal(azimuthOf(-10, 0), 270);
  assert.equal(azimuthOf(-10, -10), 315);
});

test("a drag goes in steps and never reads 360", () => {
  assert.equal(azimuthOf(-0.2, -10), 0);
  assert.equal(azimuthOf(10, -9), 50);
  assert.equal(azimuthOf(10, -9, 1), 48);
});

test("turning past the top edge goes on at 0", () => {
  assert.equal(turned(360), 0);
  assert.equal(turned(-15), 345);
  assert.equal(turned(270 + 90), 0);
  assert.equal(turned(359.5), 359.5);
});

test("every azimuth is said by the nearest edge or corner", () => {
  assert.equal(whence(0), "from the top edge");
  assert.equal(whence(350), "from the top edge");
  assert.equal(whence(315), "from the top left corner");
  assert.equal(whence(100), "from the right edge");
  assert.equal(whence(200), "from the bottom edge");
});
