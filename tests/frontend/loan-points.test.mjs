import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { answersOf, isSettled, knownPoints, openPoints } from "../../frontend/store/loans/points.js";
import { vocabulary } from "../../frontend/store/vocabulary.js";

afterEach(() => Promise.all(db.tables.map((table) => table.clear())));

const OUTGOING = { id: "c1", examination: "x1", earlier: "x0" };
const ARRIVAL = { id: "c2", examination: "x2", earlier: "x1" };

function keys(rows) {
  return rows.map(({ id }) => id);
}

async function seen(id, examination) {
  await db.observations.put({ id, examination, term: "tear" });
}

async function answered(id, loan_check, observation, answer, reason = "") {
  await db.point_checks.put({ id, loan_check, observation, answer, reason, now: null, photograph: null });
}

test("without an earlier state there is nothing known", async () => {
  await seen("o1", "x1");
  assert.deepEqual(await knownPoints({ earlier: null }), []);
});

test("what an earlier check could not see or left open comes up again; what it found does not, twice", async () => {
  await db.loan_checks.bulkPut([OUTGOING, ARRIVAL]);
  for (const id of ["o1", "o2", "o3", "o4"]) await seen(id, "x0");
  await seen("o5", "x1");
  await answered("p1", "c1", "o1", "same");
  await answered("p2", "c1", "o2", "not-visible", "Under the mount");
  await answered("p3", "c1", "o3", "", "No time");
  await answered("p4", "c1", "o4", "changed", "Longer");
  assert.deepEqual(keys(await knownPoints(ARRIVAL)), ["o2", "o3", "o5"]);
  assert.deepEqual(keys(await knownPoints(OUTGOING)), ["o1", "o2", "o3", "o4"]);
});

// The same case as in tests/reports/test_loan_check.py.
test("points come in the order of the vocabulary, those of one term by their keys", async () => {
  const before = vocabulary.value;
  const terms = ["soft-fold", "local-stain", "watermark"].map((code) => ({ code }));
  vocabulary.value = { ...before, terms };
  const noted = [["o1", "watermark"], ["o2", "local-stain"], ["o4", "soft-fold"], ["o3", "soft-fold"], ["o5", "unknown-here"]];
  for (const [id, term] of noted) await db.observations.put({ id, examination: "x0", term });
  assert.deepEqual(keys(await knownPoints(OUTGOING)), ["o3", "o4", "o2", "o1", "o5"]);
  vocabulary.value = before;
});

test("a point is open until it is the same, or a reason is given", async () => {
  await db.loan_checks.put(OUTGOING);
  for (const id of ["o1", "o2", "o3", "o4"]) await seen(id, "x0");
  await answered("p1", "c1", "o1", "same");
  await answered("p2", "c1", "o2", "changed", "  ");
  await answered("p3", "c1", "o3", "not-visible", "Glazing reflects");
  assert.deepEqual(keys(await openPoints(OUTGOING)), ["o2", "o4"]);
  assert.equal((await answersOf("c1")).get("o3").reason, "Glazing reflects");
  assert.equal(isSettled(undefined), false);
  assert.equal(isSettled({ answer: "", reason: "No time" }), true);
});
