import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";

import { db, writeSetting } from "../../frontend/store/database.js";
import { openQuestions, questionsOf, settle } from "../../frontend/store/questions.js";
import { session } from "../../frontend/store/session.js";
import { save } from "../../frontend/store/write.js";
import { findMatters } from "../../frontend/sync/needs-you.js";
import { push } from "../../frontend/sync/push.js";

const ADA = { id: "1", username: "ada", name: "Ada Marsh", role: "conservator" };
const SIGNED = { signed_at: "2026-01-02T00:00:00Z", signed_name: "Ben Holt" };

function side(value, person) {
  return { value, at: "1760000000000-0000-d", person };
}

async function asked({ field = "grade", shown = "fair", kept = "poor", row = {} } = {}) {
  await db.examinations.put({ id: "e", revision: 7, grade: "fair", notes: "", signed_at: null, ...row });
  const question = { id: "q", entity: "examination", entity_id: "e", field, settled: false };
  await db.questions.put({ ...question, shown: side(shown, "Ben"), kept: side(kept, "Ada") });
}

function outbox() {
  return db.outbox.orderBy("order").toArray();
}

beforeEach(() => {
  session.value = { token: "t", person: ADA, device_id: "device-1", expires_at: "2100-01-01T00:00:00Z" };
});
afterEach(() => Promise.all(db.tables.map((table) => table.clear())));

for (const [answer, stands] of [
  [{ choice: "shown" }, "fair"],
  [{ choice: "kept" }, "poor"],
  [{ value: "good" }, "good"],
]) {
  test(`an answer is shown at once and waits to be sent: ${JSON.stringify(answer)}`, async () => {
    await asked();
    await settle("q", answer);
    assert.equal((await db.examinations.get("e")).grade, stands);
    const [change, ...more] = await outbox();
    assert.deepEqual(more, []);
    assert.deepEqual([change.fields, change.base, change.settles], [{ grade: stands }, 7, "q"]);
    assert.deepEqual(await openQuestions(), []);
    assert.deepEqual(await findMatters(), []);
  });
}

test("an answer is no part of an edit that waits already, and a second thought alters it", async () => {
  await asked();
  await save("examination", "e", { grade: "good", notes: "Cockled." });
  await settle("q", { choice: "kept" });
  await db.questions.toArray();
  await settle("q", { choice: "shown" });
  const changes = await outbox();
  assert.deepEqual(
    changes.map(({ fields, settles }) => [fields, settles]),
    [
      [{ grade: "good", notes: "Cockled." }, undefined],
      [{ grade: "fair" }, "q"],
    ],
  );
});

test("the server is told which question is answered, and the question goes with its answer", async () => {
  await asked();
  await settle("q", { choice: "kept" });
  const [{ id }] = await outbox();
  let sent;
  globalThis.fetch = async (_, { body }) => {
    sent = JSON.parse(new TextDecoder().decode(body)).changes;
    const results = [{ id, outcome: "applied", reasons: {}, clock_clamped: false }];
    return Response.json({ results, clock: "1760000000001-0000-server" });
  };
  await push(session.value);
  assert.deepEqual(sent.map(({ settles, fields }) => [settles, fields]), [["q", { grade: "poor" }]]);
  assert.equal(await db.questions.count(), 0);
});

test("a refused answer leaves the question open and in sight", async () => {
  await asked();
  await settle("q", { choice: "kept" });
  await db.outbox.toCollection().modify({ state: "refused", reasons: { grade: "No." } });
  assert.deepEqual((await openQuestions()).map(({ id }) => id), ["q"]);
  assert.deepEqual((await findMatters()).map(({ kind }) => kind), ["refused", "question"]);
});

test("what is signed stays: another value becomes an amendment with its reason", async () => {
  await asked({ row: SIGNED });
  await assert.rejects(settle("q", { choice: "kept" }), /Say why/);
  assert.deepEqual(await outbox(), []);
  await settle("q", { choice: "kept" }, "Seen again by raking light.");
  const changes = await outbox();
  assert.deepEqual(
    changes.map(({ entity, settles }) => [entity, settles]),
    [
      ["amendment", undefined],
      ["examination", "q"],
    ],
  );
  const { before, after, reason, signed_name } = changes[0].fields;
  assert.deepEqual([before, after, reason, signed_name], ["fair", "poor", "Seen again by raking light.", "Ada Marsh"]);
  assert.deepEqual(changes[1].fields, { grade: "fair" });
  assert.equal((await db.examinations.get("e")).grade, "fair");
});

test("a question about deletion takes the record away or leaves it", async () => {
  for (const [choice, rows] of [["shown", 0], ["kept", 1]]) {
    await asked({ field: "deleted", shown: true, kept: false });
    await settle("q", { choice });
    assert.equal(await db.examinations.count(), rows);
    await db.outbox.clear();
  }
});

test("a record that is deleted here is answered for from what was last fetched", async () => {
  await asked({ field: "deleted", shown: true, kept: false });
  await db.examinations.clear();
  await writeSetting("pull", { cursor: 12, round: "r", isWhole: true });
  await settle("q", { choice: "kept" });
  const [{ fields, base }] = await outbox();
  assert.deepEqual([fields, base], [{ deleted: false }, 12]);
});

test("an examination is told of the questions on its parts", async () => {
  await asked();
  await db.observations.put({ id: "o", revision: 1, examination: "e" });
  const about = { entity: "observation", entity_id: "o", field: "severity", settled: false };
  await db.questions.put({ id: "q2", ...about, shown: side("slight", "Ben"), kept: side("severe", "Ada") });
  assert.deepEqual((await questionsOf("e")).map(({ id }) => id).sort(), ["q", "q2"]);
  assert.deepEqual(await questionsOf("another"), []);
});

test("a question that somebody settled meanwhile says so", async () => {
  await assert.rejects(settle("gone", { choice: "kept" }), /Somebody has settled this in the meantime/);
});
