import assert from "node:assert/strict";
import { test } from "node:test";

import { judge, look, shrinkage, shrinkInto } from "../../frontend/imaging/shot-check.js";

const WIDTH = 800;
const HEIGHT = 640;

/** The same numbers each time, 0…1. */
function numbers(seed) {
  let state = seed;
  return () => (state = (state * 16807) % 2147483647) / 2147483647;
}

/** A sheet on a bench, aslant, with round marks of ink on it; levels, without noise. */
function sheet(marks = 110) {
  const grey = new Float32Array(WIDTH * HEIGHT).fill(96);
  const random = numbers(7);
  for (let y = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++) {
      const [a, b] = [x + 0.04 * y - 80, y - 0.04 * x - 60];
      if (a > 0 && a < 640 && b > 0 && b < 500) grey[y * WIDTH + x] = 210;
    }
  }
  for (let n = 0; n < marks; n++) {
    const [x0, y0, r] = [130 + 500 * random(), 120 + 380 * random(), 4 + 9 * random()];
    for (let y = Math.floor(y0 - r - 1); y <= y0 + r + 1; y++) {
      for (let x = Math.floor(x0 - r - 1); x <= x0 + r + 1; x++) {
        const d = Math.hypot(x + 0.5 - x0, y + 0.5 - y0) - r;
        const share = Math.min(1, Math.max(0, 0.5 - d));
        grey[y * WIDTH + x] += share * (50 - grey[y * WIDTH + x]);
      }
    }
  }
  return grey;
}

/** The sum of the picture shifted by each [dx, dy] with its weight. */
function spread(grey, kernel) {
  const out = new Float32Array(grey.length);
  for (const [dx, dy, weight] of kernel) {
    for (let y = 0; y < HEIGHT; y++) {
      const row = Math.min(HEIGHT - 1, Math.max(0, y + dy)) * WIDTH;
      for (let x = 0, at = y * WIDTH; x < WIDTH; x++, at++) {
        const u = x + dx;
        out[at] += weight * grey[row + (u < 0 ? 0 : u >= WIDTH ? WIDTH - 1 : u)];
      }
    }
  }
  return out;
}

function blurred(grey, deviation) {
  const reach = Math.ceil(3 * deviation);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-((i - reach) ** 2) / (2 * deviation ** 2)));
  const total = weights.reduce((sum, each) => sum + each, 0);
  const across = weights.map((weight, i) => [i - reach, 0, weight / total]);
  return spread(spread(grey, across), across.map(([dx, , weight]) => [0, dx, weight]));
}

/** Motion of so many pixels along (dx, dy), whole steps. */
function moved(grey, dx, dy, steps) {
  return spread(grey, Array.from({ length: steps }, (_, i) => [dx * i, dy * i, 1 / steps]));
}

/** As a sensor writes it. */
function noisy(grey, deviation = 2) {
  const random = numbers(11);
  return Uint8Array.from(grey, (level) => {
    const bell = random() + random() + random() + random() - 2;
    return Math.min(255, Math.max(0, Math.round(level + bell * deviation * Math.sqrt(3))));
  });
}

const SHARP = blurred(sheet(), 0.6);
const BLANK = blurred(sheet(0), 0.6);

const check = (grey, light = "normal") => judge(look(grey, WIDTH, HEIGHT), light);
const FINE = { sharp: true, steady: true, exposed: true, sentences: [] };

test("a sharp sheet is sharp, with much on it or with nothing", () => {
  assert.deepEqual(check(noisy(SHARP)), FINE);
  assert.deepEqual(check(noisy(BLANK)), FINE);
});

test("a picture out of focus is told, with much on it or with nothing", () => {
  for (const marks of [110, 0]) {
    const said = check(noisy(blurred(sheet(marks), 1.6)));
    assert.equal(said.sharp, false);
    assert.equal(said.exposed, true);
    assert.match(said.sentences[0], /^Not sharp: tap the sheet/);
  }
});

for (const [way, dx, dy, steps] of [["across", 1, 0, 6], ["down", 0, 1, 6], ["aslant", 1, 1, 5]]) {
  test(`motion ${way} is told from a picture out of focus`, () => {
    const said = check(noisy(blurred(moved(sheet(), dx, dy, steps), 0.6)));
    assert.deepEqual([said.sharp, said.steady], [false, false]);
    assert.match(said.sentences[0], /^Not sharp, because the device moved/);
  });
}

test("noise is no sharpness: a soft picture stays soft in it", () => {
  assert.equal(check(noisy(blurred(sheet(), 2), 5)).sharp, false);
});

test("where nothing stands out it says so, and holds nothing against the picture", () => {
  const said = check(noisy(new Float32Array(WIDTH * HEIGHT).fill(170)));
  assert.deepEqual([said.sharp, said.steady, said.exposed], [true, true, true]);
  assert.match(said.sentences[0], /Too little stands out/);
});

test("each light has its own exposure", () => {
  const dim = noisy(SHARP.map((level) => 0.16 * level), 0.5);
  assert.match(check(dim).sentences.join(" "), /Too dark/);
  assert.equal(check(dim, "ultraviolet").exposed, true);
  const bright = noisy(SHARP.map((level) => 1.4 * level));
  assert.match(check(bright).sentences.join(" "), /\d+ % of the picture is burnt out/);
  assert.equal(check(bright, "ultraviolet").exposed, false);
  const black = noisy(BLANK.map((level) => Math.max(0, level - 96)));
  assert.match(check(black).sentences.join(" "), /\d+ % of the picture is blocked to black/);
  assert.equal(check(black, "transmitted").exposed, true);
});

test("a light that this app does not know is judged as normal light", () => {
  assert.deepEqual(check(noisy(SHARP), "infrared"), FINE);
});

test("large pictures are looked at smaller, and small ones not at all", () => {
  assert.equal(shrinkage(4000, 3000), 2);
  assert.equal(shrinkage(3024, 4032), 2);
  assert.equal(shrinkage(8000, 6000), 4);
  assert.equal(shrinkage(1920, 1080), 1);
  assert.equal(shrinkage(640, 480), 0);
});

test("a picture is made smaller by the means of its squares, as grey", () => {
  // Five by two pixels: the fifth column is left out.
  const white = [255, 255, 255, 255];
  const [black, red] = [[0, 0, 0, 255], [255, 0, 0, 255]];
  const rgba = Uint8ClampedArray.from([white, white, black, red, white, white, white, black, red, white].flat());
  const into = new Float32Array(4);
  shrinkInto(rgba, 5, 2, into, 1);
  assert.deepEqual([...into].map((level) => Math.round(level * 100) / 100), [0, 255, 27.11, 0]);
});
