import assert from "node:assert/strict";
import { test } from "node:test";

import {
  contradicts,
  hasMoved,
  nextStep,
  openPoints,
  steps,
} from "../../frontend/components/examine/progress.js";

const vocabulary = {
  lights: [
    { code: "normal", name: "Normal light" },
    { code: "raking", name: "Raking light" },
    { code: "ultraviolet", name: "Ultraviolet light" },
  ],
  grades: [{ code: "fair", name: "Fair" }],
};

const untouched = {
  location: null,
  place: "",
  location_confirmed: false,
  sheet_width_mm: null,
  sheet_height_mm: null,
  verso_seen: "",
  nothing_seen: false,
  grade: "",
  notes: "",
};

const complete = {
  ...untouched,
  location: "shelf-3",
  location_confirmed: true,
  sheet_width_mm: 310,
  sheet_height_mm: 225,
  verso_seen: "no",
  grade: "fair",
};

function recorded({ examination = {}, ...others } = {}) {
  return {
    examination: { ...untouched, ...examination },
    photographs: [],
    observations: [],
    recommendations: [],
    drafts: {},
    vocabulary,
    ...others,
  };
}

const blocking = (/** @type {any} */ record) =>
  openPoints(record)
    .filter((point) => point.blocks)
    .map((point) => point.sentence);

test("the next thing follows the order of the form", () => {
  const next = (/** @type {any} */ record) => nextStep(steps(record)).id;
  assert.equal(next(recorded()), "place");
  assert.equal(next(recorded({ examination: { location_confirmed: true } })), "photographs");
  const photographs = vocabulary.lights.map(({ code }) => ({ light: code, trouble: "" }));
  assert.equal(next(recorded({ examination: complete, photographs })), "condition");
  const observations = [{ nature: "damage" }];
  assert.equal(
    next(recorded({ examination: { ...complete, grade: "" }, photographs, observations })),
    "work",
  );
  assert.equal(next(recorded({ examination: complete, photographs, observations })), "sign");
});

test("notes may be left: they are never the next thing", () => {
  assert.ok(steps(recorded()).every((step) => step.id !== "notes" || !step.next));
});

test("an empty checklist is not the statement that nothing was seen", () => {
  assert.match(blocking(recorded())[0], /Nothing is recorded yet/);
  assert.deepEqual(blocking(recorded({ examination: { nothing_seen: true } })), []);
});

test("nothing seen stands beside features of making, and beside nothing else", () => {
  const examination = { ...complete, nothing_seen: true };
  const beside = (/** @type {string} */ nature) =>
    contradicts(/** @type {any} */ (recorded({ examination, observations: [{ nature }] })));
  assert.equal(beside("feature"), false);
  assert.equal(beside("damage"), true);
  assert.equal(beside("unsure"), true);
  assert.match(
    blocking(recorded({ examination, observations: [{ nature: "damage" }] }))[0],
    /Take one of the two back/,
  );
});

test("text that could not be taken blocks the signature, and is quoted", () => {
  const observations = [{ nature: "damage" }];
  const drafts = {
    "examination:sheet_width_mm": "abc",
    "measurement:1:what": "length of the tear",
    "recommendation:1:hours": "a day",
  };
  const points = openPoints(
    /** @type {any} */ (recorded({ examination: complete, observations, drafts })),
  ).filter((point) => point.blocks);
  assert.deepEqual(
    points.map((point) => point.section),
    ["sheet", "condition", "work"],
  );
  assert.ok(points[0].sentence.includes("“abc”"));
  assert.ok(points[1].sentence.includes("“length of the tear”"));
});

test("lights that were left out are named, and may stay out", () => {
  const photographs = [{ light: "normal", trouble: "" }];
  const points = openPoints(
    /** @type {any} */ (recorded({ examination: complete, photographs })),
  );
  const lights = points.find((point) => point.section === "photographs");
  assert.equal(lights?.sentence, "Not photographed: raking light and ultraviolet light.");
  assert.equal(lights?.blocks, false);
});

test("a photograph that is not whole and an undecided observation are pointed out", () => {
  const photographs = vocabulary.lights.map(({ code }) => ({ light: code, trouble: "cut short" }));
  const sentences = openPoints(
    /** @type {any} */ (
      recorded({ examination: complete, photographs, observations: [{ nature: "unsure" }] })
    ),
  ).map((point) => point.sentence);
  assert.match(sentences[0], /3 photographs are not whole/);
  assert.match(sentences[1], /One observation is not yet decided/);
  assert.equal(sentences.length, 2);
});

test("a lamp that is timed blocks the signature, and a faulty photograph does not", () => {
  const photographs = vocabulary.lights.map(({ code }) => ({
    light: code,
    trouble: "",
    shot_check: { sharp: code !== "normal", steady: true, exposed: true, sentences: [] },
  }));
  const points = openPoints(
    /** @type {any} */ (
      recorded({
        examination: { ...complete, nothing_seen: true },
        photographs,
        drafts: { "lamp:since": "1768122000000", "examination:lamp_s": "ten", "watermark:1:width_mm": "a" },
      })
    ),
  );
  assert.deepEqual(
    points.map(({ section, blocks }) => [section, blocks]),
    [["photographs", true], ["photographs", true], ["sheet", true], ["photographs", false]],
  );
  assert.match(points[0].sentence, /timer of the ultraviolet lamp runs/);
  assert.match(points[3].sentence, /One photograph is not sharp or not well exposed/);
});

test("an object has moved only when a confirmed place differs from the catalogue's", () => {
  const object = /** @type {any} */ ({ location: "shelf-3", off_site_place: "" });
  const found = (/** @type {object} */ fields) =>
    hasMoved(/** @type {any} */ ({ ...complete, ...fields }), object);
  assert.equal(found({}), false);
  assert.equal(found({ location: "shelf-4" }), true);
  assert.equal(found({ location: "shelf-4", location_confirmed: false }), false);
  assert.equal(found({ location: null, place: "Framer in Quay Street" }), true);
  assert.equal(hasMoved(/** @type {any} */ (complete), null), false);
});
