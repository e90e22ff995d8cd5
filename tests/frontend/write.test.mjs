import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { amendInstead, discard, retryRefused } from "../../frontend/store/refused.js";
import { session } from "../../frontend/store/session.js";
import { create, remove, save, saveTrouble } from "../../frontend/store/write.js";

const ADA = { id: "1", username: "ada", name: "Ada Marsh", role: "conservator" };
const BEN = { id: "2", username: "ben", name: "Ben Holt", role: "conservator" };

function signedInAs(person) {
  session.value = { token: "t", person, device_id: `device-${person.id}`, expires_at: "2000-01-01T00:00:00Z" };
}

beforeEach(() => signedInAs(ADA));
afterEach(() => Promise.all(db.tables.map((table) => table.clear())));

function outbox() {
  return db.outbox.orderBy("order").toArray();
}

async function examination() {
  return create("examination", { visit: "v", object: "o" });
}

test("a new record is shown whole, and only what was said is sent, with the moment", async () => {
  const id = await examination();
  const row = await db.examinations.get(id);
  assert.equal(row.examiner_name, "Ada Marsh");
  assert.equal(row.notes, "");
  assert.equal(row.revision, 0);
  const [change] = await outbox();
  assert.deepEqual(Object.keys(change.fields).sort(), ["object", "started_at", "visit"]);
  assert.equal(change.base, 0);
  assert.match(change.at, /^\d{13}-0000-device-1$/);
});

test("work goes on with a session that has run out, and not without one", async () => {
  await examination();
  session.value = null;
  await assert.rejects(examination(), /Sign in first/);
});

test("keystrokes are saved at once and make one change with the latest time", async () => {
  const id = await examination();
  const [{ at }] = await outbox();
  for (const notes of ["F", "Fo", "Fox"]) await save("examination", id, { notes });
  assert.equal((await db.examinations.get(id)).notes, "Fox");
  const changes = await outbox();
  assert.equal(changes.length, 1);
  assert.equal(changes[0].fields.notes, "Fox");
  assert.ok(changes[0].at > at);
});

test("the tablet's own fields are kept and never sent", async () => {
  const id = await examination();
  await save("examination", id, { _open: true });
  assert.equal((await db.examinations.get(id))._open, true);
  assert.ok(!("_open" in (await outbox())[0].fields));
});

test("a change made while another is under way goes by itself, on the same base", async () => {
  const id = await examination();
  await db.outbox.toCollection().modify({ state: "sending", tried: true });
  await save("examination", id, { notes: "Fox" });
  assert.deepEqual(
    (await outbox()).map((change) => [change.state, change.fields.notes]),
    [
      ["sending", undefined],
      ["waiting", "Fox"],
    ],
  );
});

test("it refuses to change a signed examination or its observations, on the tablet too", async () => {
  const id = await examination();
  const seen = await create("observation", { examination: id, term: "foxing" });
  await save("examination", id, { signed_at: "2025-03-12T10:00:00Z", signed_name: "Ada Marsh" });
  for (const attempt of [
    () => save("examination", id, { notes: "more" }),
    () => save("observation", seen, { note: "more" }),
    () => remove("observation", seen),
    () => create("observation", { examination: id, term: "tear" }),
  ]) {
    await assert.rejects(attempt, /signed.*amendment/);
  }
  assert.match(saveTrouble.value, /amendment/);
  await create("amendment", { examination: id, reason: "r", signed_name: "Ada Marsh" });
  assert.equal(saveTrouble.value, null);
  assert.deepEqual(
    (await outbox()).map((change) => change.entity),
    ["examination", "observation", "examination", "amendment"],
    "the signature stands after everything seen",
  );
});

test("nothing of a write is kept when a part of it fails", async () => {
  const id = await examination();
  const before = await outbox();
  await assert.rejects(save("examination", id, { notes: () => "cannot be stored" }));
  assert.deepEqual(await outbox(), before);
  assert.equal((await db.examinations.get(id)).notes, "");
});

test("a record that never left the tablet is deleted without a trace", async () => {
  const id = await create("observation", { examination: "e", term: "foxing" });
  await save("observation", id, { note: "n" });
  await remove("observation", id);
  assert.deepEqual(await outbox(), []);
  assert.equal(await db.observations.get(id), undefined);
});

test("a record that the server may have is deleted by a change", async () => {
  const id = await create("observation", { examination: "e", term: "foxing" });
  await db.outbox.toCollection().modify({ tried: true });
  await remove("observation", id);
  assert.deepEqual((await outbox()).at(-1).fields, { deleted: true });
});

test("a move shows on its object at once", async () => {
  await db.objects.add({ id: "o", revision: 4, location: "a", off_site_place: "" });
  await create("move", { object: "o", to_location: "b" });
  assert.equal((await db.objects.get("o")).location, "b");
});

test("two people on one tablet do not write into each other's changes", async () => {
  const id = await examination();
  signedInAs(BEN);
  await save("examination", id, { notes: "Seen by Ben" });
  assert.deepEqual(
    (await outbox()).map((change) => change.person_name),
    ["Ada Marsh", "Ben Holt"],
  );
});

async function refuseAll() {
  await db.outbox
    .toCollection()
    .modify({ state: "refused", tried: true, reasons: { grade: "“x” is not a grade." } });
}

test("a correction sends what was refused again, in its place and under a new id", async () => {
  const id = await examination();
  await save("examination", id, { grade: "x" });
  await create("observation", { examination: id, term: "foxing" });
  const before = await outbox();
  await refuseAll();
  await save("examination", id, { grade: "fair" });
  const after = await outbox();
  assert.deepEqual(
    after.map(({ order, state, tried }) => ({ order, state, tried })),
    before.map(({ order }) => ({ order, state: "waiting", tried: false })),
  );
  assert.equal(after[0].fields.grade, "fair");
  assert.ok(after.every((change, index) => change.id !== before[index].id));
  await refuseAll();
  await retryRefused();
  assert.ok((await outbox()).every((change) => change.state === "waiting"));
});

test("a refused change is given up only when the person says so", async () => {
  const id = await examination();
  await refuseAll();
  const [change] = await outbox();
  await discard(change.id);
  assert.deepEqual(await outbox(), []);
  assert.equal(await db.examinations.get(id), undefined);
});

test("giving up a change of a record that the server has fetches it anew", async () => {
  await db.examinations.add({ id: "e", revision: 5, grade: "good" });
  await db.settings.put({ key: "pull", value: { cursor: 9 } });
  await save("examination", "e", { grade: "x" });
  await refuseAll();
  await discard((await outbox())[0].id);
  assert.equal(await db.settings.get("pull"), undefined);
  assert.ok(await db.examinations.get("e"));
});

test("a change refused because of a signature can be said as an amendment", async () => {
  await db.examinations.add({ id: "e", revision: 5, grade: "good", signed_at: null });
  await save("examination", "e", { grade: "fair" });
  await refuseAll();
  await amendInstead((await outbox())[0].id, "Seen again in raking light");
  const [change] = await outbox();
  assert.equal(change.entity, "amendment");
  const [amendment] = await db.amendments.toArray();
  assert.equal(amendment.after, "fair");
  assert.equal(amendment.field, "grade");
  assert.equal(amendment.signed_name, "Ada Marsh");
});
