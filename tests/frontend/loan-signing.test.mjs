import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { afterEach, beforeEach, test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { checkResent, sign } from "../../frontend/store/loans/signing.js";
import { moment, PARTS, partsThatDiffer, statementOf } from "../../frontend/store/loans/statement.js";
import { retryRefused } from "../../frontend/store/refused.js";
import { session } from "../../frontend/store/session.js";
import { create, save } from "../../frontend/store/write.js";
import { push } from "../../frontend/sync/push.js";

const SESSION = {
  token: "t",
  person: { id: "1", username: "kit", name: "Kit Aldous", role: "courier" },
  device_id: "device-1",
  expires_at: "2099-01-01T00:00:00Z",
};
const DRAWN = [[[10, 20], [30, 40]]];
const COURIER = { role: "courier", name: "Kit Aldous", of: "Port Ellery Museum", strokes: DRAWN };
const RECEIVER = { role: "receiver", name: "Bo Lind", of: "Gallery of the Salt Quay", strokes: [] };

const realFetch = globalThis.fetch;
beforeEach(() => {
  session.value = SESSION;
});
afterEach(async () => {
  globalThis.fetch = realFetch;
  await Promise.all(db.tables.map((table) => table.clear()));
});

/** A check with one known point, answered or not. */
async function check({ answer = "same", reason = "" } = {}) {
  await db.loans.put({ id: "l", revision: 1, reference: "L.1", title: "Ink", lender: "A", borrower: "B",
    first_day: "2026-11-01", last_day: "2027-01-31" });
  await db.objects.put({ id: "o", revision: 1, accession_number: "PE.1931.6", title: "Reeds", maker: "",
    date_text: "", width_mm: 310, height_mm: 225 });
  await db.observations.put({ id: "k", revision: 1, examination: "before", term: "tear" });
  const examination = await create("examination", { visit: "v", object: "o" });
  const id = await create("loan_check", { loan: "l", examination, earlier: "before", stage: "arrival" });
  const now = await create("observation", { examination, term: "tear", severity: "slight" });
  const point = await create("point_check", { loan_check: id, observation: "k", answer, reason, now });
  return { id, examination, point };
}

const held = (id) => db.loan_checks.get(id);
const text = async (id) => statementOf(await held(id));
const outbox = () => db.outbox.orderBy("order").toArray();

/** A server that refuses what carries the statement, and all that rests on it. */
function refusing(reason) {
  globalThis.fetch = async (_, { body }) => {
    const { changes } = JSON.parse(new TextDecoder().decode(body));
    const results = changes.map(({ id, entity, fields }) => {
      const isSigning = entity === "signature" || "statement" in fields || "signed_at" in fields;
      return { id, outcome: isSigning ? "refused" : "applied", reasons: isSigning ? { "": reason } : {}, clock_clamped: false };
    });
    return Response.json({ results, clock: "1700000000000-0000-server" });
  };
}

test("a moment is cut to the millisecond in UTC, however it came", () => {
  assert.equal(moment("2026-11-28T20:28:23.123999Z"), "2026-11-28T20:28:23.123Z");
  assert.equal(moment("2026-11-28T21:28:23+01:00"), "2026-11-28T20:28:23.000Z");
  assert.equal(moment("2026-11-28T20:28:23.5Z"), "2026-11-28T20:28:23.500Z");
});

test("a statement has every part, keys in order and nothing between them", async () => {
  const { id } = await check();
  const said = await text(id);
  const content = JSON.parse(said);
  assert.deepEqual(Object.keys(content), [...Object.keys(PARTS), "kind", "version"].sort());
  assert.ok(said.startsWith('{"check":{"crate":"","earlier":"before",'));
  assert.doesNotMatch(said, /": |, "/);
});

test("what an older app left out of a row is said as the server fills it in", async () => {
  const { id, examination } = await check();
  await db.examinations.where({ id: examination }).modify((row) => delete row.sheet_uncertainty_mm);
  assert.equal(JSON.parse(await text(id)).examination.sheet_uncertainty_mm, 1);
});

test("texts are compared by what they say, but for the loan and the catalogue", async () => {
  const { id } = await check();
  const said = await text(id);
  assert.deepEqual(partsThatDiffer(said.replace(/310/, "310.0"), said), []);
  const other = JSON.parse(said);
  other.object.title = "Sedge";
  other.observations[0].severity = "severe";
  assert.deepEqual(partsThatDiffer(said, JSON.stringify(other)), ["observations"]);
});

test("both hands sign at once, with the hash of the text, in the order the server takes", async () => {
  const { id, examination } = await check();
  const statement = await text(id);
  await sign(id, statement, [RECEIVER, COURIER]);
  const sha256 = createHash("sha256").update(statement).digest("hex");
  const signatures = await db.signatures.where({ loan_check: id }).toArray();
  assert.deepEqual(new Set(signatures.map((row) => row.sha256)), new Set([sha256]));
  assert.deepEqual(signatures.find(({ role }) => role === "courier").strokes, DRAWN);
  assert.equal((await held(id)).statement, statement);
  assert.equal((await db.examinations.get(examination)).signed_name, "Kit Aldous");
  const last = (await outbox()).slice(-4).map(({ entity, fields }) => [entity, Object.keys(fields)[0]]);
  assert.deepEqual(last.map(([entity]) => entity), ["loan_check", "examination", "signature", "signature"]);
  assert.equal(last[0][1], "statement");
});

test("nothing of a signing is kept when a point is open or something was changed since", async () => {
  const { id, point } = await check({ answer: "" });
  await assert.rejects(sign(id, await text(id), [COURIER]), /neither an answer nor a reason/);
  const before = await text(id);
  await save("point_check", point, { reason: "The frame hides it." });
  await assert.rejects(sign(id, before, [COURIER]), /changed since this was shown/);
  assert.equal((await held(id)).statement, "");
  assert.equal(await db.signatures.count(), 0);
  assert.ok(!(await outbox()).some(({ fields }) => "statement" in fields || "signed_at" in fields));
});

test("a second person may sign later, below the same words", async () => {
  const { id } = await check();
  const statement = await text(id);
  await sign(id, statement, [COURIER]);
  await sign(id, statement, [RECEIVER]);
  assert.equal(await db.signatures.count(), 2);
  assert.equal((await outbox()).filter(({ fields }) => "statement" in fields).length, 1);
  await assert.rejects(sign(id, statement.replace("Ink", "Oil"), [RECEIVER]), /signed on another device/);
});

test("what the server refused is not signed; signed anew it goes behind what was mended", async () => {
  const { id, examination, point } = await check();
  await sign(id, await text(id), [COURIER, RECEIVER]);
  refusing("1 known point is open.");
  await push(SESSION);
  assert.equal((await held(id)).statement, "");
  assert.equal((await db.examinations.get(examination)).signed_at, null);

  await save("point_check", point, { answer: "changed", reason: "Longer by the width of a finger." });
  await sign(id, await text(id), [COURIER]);
  const line = await outbox();
  assert.deepEqual(
    line.map(({ entity, state }) => [entity, state]),
    [["point_check", "waiting"], ["loan_check", "waiting"], ["examination", "waiting"], ["signature", "waiting"]],
  );
  assert.equal(JSON.parse(line[1].fields.statement).points[0].answer, "changed");
  assert.equal(await db.signatures.count(), 1);
});

test("sent again it counts as signed while it still says what the records say", async () => {
  const { id, examination } = await check();
  const statement = await text(id);
  await sign(id, statement, [COURIER, RECEIVER]);
  refusing("This object is not part of the loan.");
  await push(SESSION);
  await retryRefused();
  await checkResent();
  assert.equal((await held(id)).statement, statement);
  assert.equal((await db.examinations.get(examination)).signed_name, "Kit Aldous");
  assert.equal((await outbox()).length, 4);
});

test("words that were altered since are not sent under old signatures", async () => {
  const { id, point } = await check();
  await sign(id, await text(id), [COURIER, RECEIVER]);
  refusing("1 known point is open.");
  await push(SESSION);
  await save("point_check", point, { answer: "not-visible", reason: "Under the mat." });
  await retryRefused();
  await checkResent();
  assert.deepEqual((await outbox()).map(({ entity }) => entity), ["point_check"]);
  assert.equal(await db.signatures.count(), 0);
  assert.equal((await held(id)).statement, "");
});
