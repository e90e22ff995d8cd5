import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, test } from "node:test";

import { takesOther } from "../../frontend/components/questions/other-value.js";
import { beginExamination } from "../../frontend/store/begin-examination.js";
import { db } from "../../frontend/store/database.js";
import { canBeAmended } from "../../frontend/store/refused.js";
import { session } from "../../frontend/store/session.js";
import { reasonTrouble, walkOf } from "../../frontend/store/walk.js";
import { save } from "../../frontend/store/write.js";
import { describeChange } from "../../frontend/sync/unsent.js";

session.value = { token: "t", person: { id: "ada", name: "Ada Marsh" }, device_id: "d", expires_at: "2000-01-01T00:00:00Z" };
afterEach(() => Promise.all(db.tables.map((table) => table.clear())));

function stop(order, missing = "") {
  return { id: `s${order}`, visit: "v", object: `o${order}`, order, missing };
}

function examined(order, signed_at = null, started_at = "2027-01-04T09:00:00Z") {
  return { id: `x${order}-${started_at}`, visit: "v", object: `o${order}`, signed_at, started_at };
}

function orders(stands) {
  return stands.map((stand) => stand.stop.order);
}

const NOON = "2027-01-04T12:00:00Z";

test("each stop is signed, missing, begun or ahead, in shelf order", () => {
  const stops = [stop(4), stop(2), stop(1), stop(3, "Not at its place")];
  const walk = walkOf(stops, [examined(1, NOON), examined(2), examined(9)]);
  assert.deepEqual(
    walk.stands.map(({ stop: { order }, state }) => [order, state]),
    [[1, "signed"], [2, "begun"], [3, "missing"], [4, "ahead"]],
  );
  assert.deepEqual(orders(walk.left), [2, 4]);
  assert.deepEqual(orders(walk.signed), [1]);
  assert.deepEqual(orders(walk.missing), [3]);
});

test("the next is the first that nobody began; what is begun comes when nothing is ahead", () => {
  assert.equal(walkOf([stop(1), stop(2)], [examined(1)]).next.stop.order, 2);
  assert.equal(walkOf([stop(1), stop(2)], [examined(1), examined(2, NOON)]).next.stop.order, 1);
  assert.equal(walkOf([stop(1, "Away")], []).next, undefined);
  assert.equal(walkOf([], []).next, undefined);
});

test("a signed examination counts whatever was said before, and before any unsigned one", () => {
  const [{ state, examination }] = walkOf(
    [stop(1, "Not at its place")],
    [examined(1, null, "2027-01-05T09:00:00Z"), examined(1, NOON)],
  ).stands;
  assert.equal(state, "signed");
  assert.equal(examination.signed_at, NOON);
});

test("what is missing stays missing though it was begun, as the desk counts it", () => {
  assert.equal(walkOf([stop(1, "Stuck to its board")], [examined(1)]).stands[0].state, "missing");
});

test("it tells when stops of the walk are not carried", () => {
  assert.equal(walkOf([stop(1), stop(2)], []).notCarried, 0);
  assert.equal(walkOf([stop(2), stop(5)], []).notCarried, 3);
  assert.equal(walkOf([], []).notCarried, 0);
});

test("a reason is needed, of a length that the server takes", () => {
  assert.match(reasonTrouble("  "), /Say why it could not be examined/);
  assert.equal(reasonTrouble(`${"a".repeat(300)} `), "");
  assert.match(reasonTrouble("a".repeat(301)), /300 letters at most: these are 301/);
});

test("a reason is kept with its change and taken back in the same one", async () => {
  await db.objects.put({ id: "o1", accession_number: "SM.1" });
  await db.stops.put({ ...stop(1), revision: 7 });
  await save("stop", "s1", { missing: "Not at its place" });
  let [change, ...others] = await db.outbox.toArray();
  assert.deepEqual(change.fields, { missing: "Not at its place" });
  assert.equal(change.base, 7);
  assert.equal(others.length, 0);
  const { object, what } = await describeChange(change);
  assert.deepEqual([object, what], ["SM.1", "Stop on a walk, why it could not be examined"]);
  await save("stop", "s1", { missing: "" });
  [change, ...others] = await db.outbox.toArray();
  assert.deepEqual(change.fields, { missing: "" });
  assert.equal(others.length, 0);
  assert.equal((await db.stops.get("s1")).missing, "");
});

test("of two reasons a person may give a third, but none becomes an amendment", () => {
  assert.equal(takesOther("missing"), true);
  assert.equal(canBeAmended({ entity: "stop" }), false);
});

test("a second tap goes on with the examination that the first began", async () => {
  const object = { id: "o1", location: "shelf", off_site_place: "" };
  const [first, second] = await Promise.all([beginExamination("v", object), beginExamination("v", object)]);
  assert.equal(first, second);
  const row = await db.examinations.get(first);
  assert.deepEqual([row.visit, row.object, row.location], ["v", "o1", "shelf"]);
  assert.equal(await db.outbox.count(), 1);
});

test("another's examination, a signed one, or one of another visit is not gone on with", async () => {
  const object = { id: "o1", location: null, off_site_place: "Studio" };
  const row = { object: "o1", visit: "v", examiner: "ada", signed_at: null };
  await db.examinations.bulkPut([
    { ...row, id: "a", examiner: "ben" },
    { ...row, id: "b", signed_at: NOON },
    { ...row, id: "c", visit: "w" },
  ]);
  const made = await beginExamination("v", object);
  assert.equal((await db.examinations.get(made)).place, "Studio");
  assert.equal(await db.examinations.count(), 4);
});
