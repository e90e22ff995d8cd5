import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { session } from "../../frontend/store/session.js";
import { create, save } from "../../frontend/store/write.js";
import { rootsOf } from "../../frontend/sync/needs-you.js";
import { pull } from "../../frontend/sync/pull.js";
import { push, reopenUnanswered } from "../../frontend/sync/push.js";

const SESSION = {
  token: "t",
  person: { id: "1", username: "ada", name: "Ada Marsh", role: "conservator" },
  device_id: "device-1",
  expires_at: "2099-01-01T00:00:00Z",
};

/** What was asked of the server, newest last: [path, body]. */
let asked = [];
const realFetch = globalThis.fetch;

/** Puts a server in place: `answer(path, body)` gives [status, body, headers], or throws for no network. */
function serve(answer) {
  globalThis.fetch = async (path, { body }) => {
    const sent = body === undefined ? undefined : JSON.parse(new TextDecoder().decode(body));
    asked.push([path, sent]);
    const [status, data, headers] = await answer(path, sent);
    if (typeof data === "string") return new Response(data, { status });
    return Response.json(data, { status, headers });
  };
}

beforeEach(() => {
  session.value = SESSION;
  asked = [];
});
afterEach(async () => {
  globalThis.fetch = realFetch;
  await Promise.all(db.tables.map((table) => table.clear()));
});

function applied({ changes }) {
  const results = changes.map(({ id }) => ({ id, outcome: "applied", reasons: {}, clock_clamped: false }));
  return [200, { results, clock: "1700000000000-0000-server" }];
}

function outbox() {
  return db.outbox.orderBy("order").toArray();
}

test("changes are sent in order, in batches of at most 200, and go when acknowledged", async () => {
  for (let n = 0; n < 205; n += 1) await create("visit", { name: `Visit ${n}`, purpose: "bench" });
  serve((path, body) => applied(body));
  await push(SESSION);
  assert.deepEqual(
    asked.map(([path, body]) => [path, body.changes.length]),
    [
      ["/api/sync/push", 200],
      ["/api/sync/push", 5],
    ],
  );
  const names = asked.flatMap(([, body]) => body.changes.map((change) => change.fields.name));
  assert.deepEqual(names, Array.from({ length: 205 }, (_, n) => `Visit ${n}`));
  assert.deepEqual(await outbox(), []);
});

test("after a lost answer the same change goes again, unaltered, before what was typed since", async () => {
  const id = await create("visit", { name: "Round", purpose: "bench" });
  serve(() => {
    throw new TypeError("connection lost");
  });
  await assert.rejects(push(SESSION), { kind: "no-network" });
  await save("visit", id, { name: "Round of the north store" });
  serve((path, body) => applied(body));
  await push(SESSION);
  const [lost, again] = asked.map(([, body]) => body.changes);
  assert.deepEqual(again[0], lost[0]);
  assert.deepEqual(again[1].fields, { name: "Round of the north store" });
  assert.notEqual(again[1].id, lost[0].id);
});

test("what was under way when the app was closed waits again under the same id", async () => {
  await create("visit", { name: "Round", purpose: "bench" });
  const [{ id }] = await outbox();
  await db.outbox.toCollection().modify({ state: "sending", tried: true });
  await reopenUnanswered();
  assert.deepEqual(
    (await outbox()).map((change) => [change.id, change.state, change.tried]),
    [[id, "waiting", true]],
  );
});

for (const [status, body, kind, headers] of [
  [500, "<h1>Server error</h1>", "server"],
  [507, { detail: "full" }, "full"],
  [401, { detail: "This sign-in has ended." }, "sign-in", { "WWW-Authenticate": "Device" }],
  [401, { detail: "Sign in to use this network." }, "foreign"],
  [200, "<html>Accept the terms of this network</html>", "foreign"],
]) {
  test(`an answer of ${status} (${kind}) loses nothing`, async () => {
    await create("visit", { name: "Round", purpose: "bench" });
    serve(() => [status, body, headers]);
    await assert.rejects(push(SESSION), (trouble) => trouble.kind === kind && trouble.message.endsWith("."));
    assert.deepEqual(
      (await outbox()).map((change) => change.state),
      ["waiting"],
    );
  });
}

test("a refused change stays with its reasons, and hinders no other", async () => {
  await create("visit", { name: "", purpose: "bench" });
  await create("visit", { name: "Round", purpose: "bench" });
  serve((path, { changes }) => {
    const [status, answer] = applied({ changes });
    answer.results[0] = {
      id: changes[0].id,
      outcome: "refused",
      reasons: { name: "This may not stay empty." },
      clock_clamped: false,
    };
    return [status, answer];
  });
  await push(SESSION);
  const left = await outbox();
  assert.equal(left.length, 1);
  assert.equal(left[0].state, "refused");
  assert.deepEqual(left[0].reasons, { name: "This may not stay empty." });
});

test("a batch that is too large is halved until it fits", async () => {
  for (let n = 0; n < 5; n += 1) await create("visit", { name: `Visit ${n}`, purpose: "bench" });
  serve((path, body) =>
    body.changes.length > 2 ? [413, { detail: "Too large." }] : applied(body),
  );
  await push(SESSION);
  assert.deepEqual(await outbox(), []);
});

test("one change that the server cannot read is set aside, the others go", async () => {
  for (let n = 0; n < 5; n += 1) await create("visit", { name: `Visit ${n}`, purpose: "bench" });
  serve((path, body) =>
    body.changes.some((change) => change.fields.name === "Visit 3")
      ? [400, { detail: "This cannot be read." }]
      : applied(body),
  );
  await push(SESSION);
  assert.deepEqual(
    (await outbox()).map((change) => [change.fields.name, change.state, change.reasons]),
    [["Visit 3", "refused", { "": "This cannot be read." }]],
  );
});

test("a refused signature opens the form again", async () => {
  const id = await create("examination", { visit: "v", object: "o" });
  await save("examination", id, { signed_at: "2099-01-01T00:00:00Z", signed_name: "Ada Marsh" });
  serve((path, { changes }) => {
    const [status, answer] = applied({ changes });
    answer.results[1] = {
      id: changes[1].id,
      outcome: "refused",
      reasons: { signed_at: "Check the date on this tablet." },
      clock_clamped: true,
    };
    return [status, answer];
  });
  await push(SESSION);
  const row = await db.examinations.get(id);
  assert.equal(row.signed_at, null);
  await save("examination", id, { notes: "goes on" });
});

test("a clock that ran ahead is put back to the server's", async () => {
  const real = Date.now;
  Date.now = () => Date.UTC(2099, 0, 1);
  await create("visit", { name: "Round", purpose: "bench" });
  Date.now = real;
  serve((path, body) => {
    const [status, answer] = applied(body);
    answer.results[0].clock_clamped = true;
    return [status, { ...answer, clock: "1700000000000-0000-server" }];
  });
  await push(SESSION);
  await create("visit", { name: "Next", purpose: "bench" });
  const [next] = await outbox();
  assert.ok(Number(next.at.slice(0, 13)) < Date.UTC(2090, 0, 1));
  assert.equal((await db.settings.get("clock_is_ahead")).value, true);
});

test("changes of somebody else wait for that person", async () => {
  await create("visit", { name: "Round", purpose: "bench" });
  serve((path, body) => applied(body));
  await push({ ...SESSION, person: { ...SESSION.person, id: "2" } });
  assert.deepEqual(asked, []);
});

function object(n, revision, fields = {}) {
  const row = { accession_number: `PE.${n}`, title: `Sheet ${n}`, ...fields };
  return { entity: "object", id: `o${n}`, revision, deleted: false, fields: row };
}

function page(rows, cursor, more, questions = [], locations = []) {
  return [200, { rows, questions, cursor, more, scope: { locations } }];
}

test("a pull that was cut off goes on where it stood", async () => {
  serve((path) => {
    if (path.includes("cursor=0&")) return page([object(1, 1), object(2, 2)], 2, true);
    throw new TypeError("connection lost");
  });
  await assert.rejects(pull("t", () => {}), { kind: "no-network" });
  assert.equal(await db.objects.count(), 2);
  serve(() => page([object(3, 3)], 3, false));
  const progress = [];
  await pull("t", (rows) => progress.push(rows));
  assert.match(asked.at(-1)[0], /cursor=2&limit=500/);
  assert.equal(await db.objects.count(), 3);
  assert.deepEqual(progress, [1]);
});

test("what a whole new pull does not bring goes, but no unsent work", async () => {
  serve(() => page([object(1, 1), object(2, 2)], 2, false));
  await pull("t", () => {});
  const visit = await create("visit", { name: "Round", purpose: "bench" });
  await db.settings.delete("pull");
  serve(() => page([object(2, 2)], 2, false));
  await pull("t", () => {});
  assert.deepEqual(await db.objects.toCollection().primaryKeys(), ["o2"]);
  assert.ok(await db.visits.get(visit));
});

test("a page that comes after everything was asked for anew is not kept", async () => {
  serve(async () => {
    await db.settings.delete("pull");
    return page([object(1, 1)], 1, false);
  });
  await pull("t", () => {});
  assert.equal(await db.objects.count(), 0);
  assert.equal(await db.settings.get("pull"), undefined);
});

test("a choice of places whose answer was lost is noticed, and everything is asked for anew", async () => {
  serve(() => page([object(1, 1)], 1, false));
  await pull("t", () => {});
  serve((path) => page(path.includes("cursor=0&") ? [object(2, 2)] : [], 2, false, [], ["north"]));
  await pull("t", () => {});
  assert.deepEqual(await db.objects.toCollection().primaryKeys(), ["o2"]);
  assert.deepEqual((await db.settings.get("scope")).value, { locations: ["north"] });
});

test("when an object comes into the chosen places, what was said of it before is fetched too", async () => {
  const examination = { entity: "examination", id: "e2", revision: 1, deleted: false, fields: { object: "o2" } };
  serve(() => page([object(1, 2)], 2, false, [], ["north"]));
  await pull("t", () => {});
  serve((path) =>
    path.includes("cursor=0&")
      ? page([examination, object(1, 2), object(2, 3)], 3, false, [], ["north"])
      : page([object(2, 3)], 3, false, [], ["north"]),
  );
  await pull("t", () => {});
  assert.ok(await db.examinations.get("e2"));
  assert.equal((await db.settings.get("pull")).value.isOutOfStep, undefined);
});

test("when an object leaves the chosen places, what was said of it goes with it", async () => {
  const examination = { entity: "examination", id: "e1", revision: 1, deleted: false, fields: { object: "o1" } };
  serve(() => page([examination, object(1, 2)], 2, false, [], ["north"]));
  await pull("t", () => {});
  const gone = { entity: "object", id: "o1", revision: 3, deleted: true, fields: null };
  serve((path) => page(path.includes("cursor=0&") ? [] : [gone], 3, false, [], ["north"]));
  await pull("t", () => {});
  assert.equal(await db.examinations.count(), 0);
});

test("what was sent from here goes as well when a whole new pull does not bring it", async () => {
  await create("visit", { name: "Round", purpose: "bench" });
  serve((path, body) => (path.includes("/push") ? applied(body) : page([], 5, false, [], ["north"])));
  await push(SESSION);
  await pull("t", () => {});
  assert.equal(await db.visits.count(), 0);
});

test("open questions are kept until they are settled, tombstones take their rows away", async () => {
  const question = { id: "q", entity: "object", entity_id: "o1", field: "title", settled: false };
  serve(() => page([object(1, 1)], 1, false, [question]));
  await pull("t", () => {});
  assert.equal(await db.questions.count(), 1);
  const gone = { entity: "object", id: "o1", revision: 2, deleted: true, fields: null };
  serve(() => page([gone], 2, false, [{ ...question, settled: true }]));
  await pull("t", () => {});
  assert.equal(await db.questions.count(), 0);
  assert.equal(await db.objects.count(), 0);
});

test("a question of what a whole new pull does not bring goes too, but not one that waits for its answer", async () => {
  const question = (n) => ({ id: `q${n}`, entity: "object", entity_id: `o${n}`, field: "title", settled: false });
  const questions = [question(1), question(2), question(3)];
  serve(() => page([object(1, 1), object(2, 2), object(3, 3)], 3, false, questions));
  await pull("t", () => {});
  await save("object", "o3", { title: "A word of one's own" });
  await db.settings.delete("pull");
  serve(() => page([object(2, 2)], 3, false, [question(2)]));
  await pull("t", () => {});
  assert.deepEqual(await db.questions.toCollection().primaryKeys(), ["q2", "q3"]);
});

test("of refused changes only the root is shown, not those that hang on it", () => {
  const change = (entity_id, creates, fields = {}) => ({ entity_id, creates, fields });
  const visit = change("v", true);
  const alone = change("e9", false);
  assert.deepEqual(
    rootsOf([
      visit,
      change("v", false),
      change("e", true, { visit: "v" }),
      change("p", true, { examination: "e" }),
      alone,
    ]),
    [visit, alone],
  );
});
