import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";

import { nextOpen, readCheck } from "../../frontend/components/check/data.js";
import { daysOf } from "../../frontend/components/loan/words.js";
import { db } from "../../frontend/store/database.js";
import { answerPoint, giveReason, linkPhotograph } from "../../frontend/store/loans/answers.js";
import { beginCheck, stageDue, venueOf } from "../../frontend/store/loans/begin.js";
import { inCrateOrder, nextOf, readJourney } from "../../frontend/store/loans/journey.js";
import { openPoints } from "../../frontend/store/loans/points.js";
import { session } from "../../frontend/store/session.js";
import { save } from "../../frontend/store/write.js";

const WENNA = { id: "9", username: "pass-1", name: "Wenna Tregear", role: "courier" };
const LOAN = {
  id: "L", reference: "L.2026.4", title: "Ink and water", lender: "Port Ellery", borrower: "Salt Quay",
  first_day: "2026-01-01", last_day: "2999-01-01",
  venues: [
    { name: "Salt Quay", first_day: "2026-02-01", last_day: "2026-06-01" },
    { name: "The Granary", first_day: "2026-07-01", last_day: "2999-01-01" },
  ],
};
const LOANED = { id: "l1", loan: "L", object: "o1", crate: "Crate 2", order: 0 };

beforeEach(async () => {
  session.value = { token: "t", person: WENNA, device_id: "d", expires_at: "2999-01-01T00:00:00Z", loan: "L" };
  await db.loans.put(LOAN);
  await db.loaned_objects.put(LOANED);
  await db.objects.put({ id: "o1", accession_number: "PE.1", width_mm: 120, height_mm: 100, location: "s1" });
  await db.examinations.put({
    id: "x0", object: "o1", visit: "v0", started_at: "2026-01-02T08:00:00.000Z", signed_at: "2026-01-02T09:00:00.000Z",
    sheet_width_mm: 121.5, sheet_height_mm: 99, sheet_uncertainty_mm: 0.5, mount: "Window mount",
  });
  await db.observations.put({
    id: "k1", examination: "x0", term: "tear", nature: "damage", extent: "edge", severity: "slight", side: "recto",
    lights: ["raking"], note: "8 mm", region: { kind: "polygon", points: [[1, 1], [9, 1], [9, 9]] },
    mark: { photograph: "p0", x: 0.5, y: 0.5 },
  });
});
afterEach(() => Promise.all(db.tables.map((table) => table.clear())));

async function begin(stage = "arrival") {
  const id = await beginCheck(LOAN, LOANED, stage, `${stage} check, L.2026.4`);
  return db.loan_checks.get(id);
}

test("a journey goes out, arrives, and comes back at its end", () => {
  const due = (signed, today) => stageDue(signed, LOAN, today);
  assert.equal(due([], "2026-01-01"), "outgoing");
  assert.equal(due(["outgoing"], "2026-01-01"), "arrival");
  assert.equal(due(["outgoing", "arrival"], "2026-03-01"), null);
  assert.equal(due(["outgoing", "arrival", "interim"], "2999-01-01"), "return");
  assert.equal(due(["outgoing", "arrival", "return"], "2999-01-01"), null);
});

test("an object is shown by its newest photographed state, from the front before other pictures", async () => {
  const picture = async () => (await readJourney("L")).travellers[0].photograph?.id;
  assert.equal(await picture(), undefined);
  await db.photographs.bulkPut([
    { id: "p0", examination: "x0", light: "raking", side: "recto" },
    { id: "p1", examination: "x0", light: "normal", side: "recto" },
  ]);
  assert.equal(await picture(), "p1");
  // A later state without a picture does not take it away; one with a picture takes its place.
  const later = { id: "x1", object: "o1", started_at: "2026-02-02T08:00:00.000Z", signed_at: "2026-02-02T09:00:00.000Z" };
  await db.examinations.put(later);
  assert.equal(await picture(), "p1");
  await db.photographs.put({ id: "p2", examination: "x1", light: "transmitted", side: "recto" });
  assert.equal(await picture(), "p2");
  await db.examinations.put({ ...later, signed_at: null });
  assert.equal(await picture(), "p1");
});

test("a check takes place with the lender, or at the venue of these days", () => {
  assert.equal(venueOf("outgoing", LOAN, "2026-03-01"), "Port Ellery");
  assert.equal(venueOf("arrival", LOAN, "2026-01-20"), "Salt Quay");
  assert.equal(venueOf("arrival", LOAN, "2026-06-20"), "The Granary");
  assert.equal(venueOf("interim", { ...LOAN, venues: [] }, "2026-03-01"), "Salt Quay");
});

test("crate 2 comes before crate 10, and one without a crate first", () => {
  const rows = [["a", "Crate 10", 0], ["b", "Crate 2", 5], ["c", "", 3], ["d", "Crate 2", 1]];
  const sorted = inCrateOrder(rows.map(([id, crate, order]) => ({ id, crate, order })));
  assert.deepEqual(sorted.map(({ id }) => id), ["c", "d", "b", "a"]);
});

test("a check begins from the last signed state, with its size, crate and venue", async () => {
  const check = await begin();
  assert.equal(check.earlier, "x0");
  assert.deepEqual([check.crate, check.stage, check.statement], ["Crate 2", "arrival", ""]);
  const examination = await db.examinations.get(check.examination);
  assert.deepEqual(
    [examination.sheet_width_mm, examination.sheet_height_mm, examination.sheet_uncertainty_mm, examination.mount],
    [121.5, 99, 0.5, "Window mount"],
  );
  assert.equal(examination.location, null);
  assert.ok(examination.place);
  const visit = await db.visits.get(examination.visit);
  assert.deepEqual([visit.purpose, visit.place], ["loan-check", check.venue]);
  const sent = (await db.outbox.orderBy("order").toArray()).map(({ entity }) => entity);
  assert.deepEqual(sent, ["visit", "examination", "loan_check"]);
});

test("two taps begin one check, and a second object goes on the same visit of the day", async () => {
  const first = await begin();
  assert.equal((await begin()).id, first.id);
  await db.objects.put({ id: "o2", accession_number: "PE.2", width_mm: 80, height_mm: 60, location: null });
  const other = { ...LOANED, id: "l2", object: "o2", crate: "" };
  await db.loaned_objects.put(other);
  const second = await db.loan_checks.get(await beginCheck(LOAN, other, "arrival", "Arrival check"));
  const visits = await Promise.all([first, second].map(async (row) => (await db.examinations.get(row.examination)).visit));
  assert.equal(visits[0], visits[1]);
  assert.equal(second.earlier, null);
  assert.equal((await db.examinations.get(second.examination)).sheet_width_mm, 80);
  await begin("interim");
  assert.equal(await db.visits.count(), 2);
});

test("“same” carries the observation over once, without a mark on another examination's photograph", async () => {
  const check = await begin();
  const known = await db.observations.get("k1");
  await answerPoint(check, known, "same");
  await answerPoint(check, known, "same");
  const own = await db.observations.where({ examination: check.examination }).toArray();
  assert.equal(own.length, 1);
  assert.deepEqual(
    [own[0].term, own[0].severity, own[0].extent, own[0].note, own[0].lights, own[0].mark],
    ["tear", "slight", "edge", "8 mm", ["raking"], null],
  );
  assert.deepEqual(own[0].region, known.region);
  const [point] = await db.point_checks.toArray();
  assert.deepEqual([point.answer, point.now, point.reason], ["same", own[0].id, ""]);
  assert.deepEqual(await openPoints(check), []);
});

test("“changed” needs words; taking it back to “same” takes back what was altered", async () => {
  const check = await begin();
  const known = await db.observations.get("k1");
  await answerPoint(check, known, "changed");
  assert.equal((await openPoints(check)).length, 1);
  const [{ now }] = await db.point_checks.toArray();
  await save("observation", now, { severity: "severe", note: "12 mm" });
  await giveReason(check, "k1", "4 mm longer");
  assert.equal((await openPoints(check)).length, 0);
  await answerPoint(check, known, "same");
  const own = await db.observations.get(now);
  assert.deepEqual([own.severity, own.note], ["slight", "8 mm"]);
  assert.equal((await db.point_checks.toArray())[0].reason, "");
});

test("“not visible” takes the copy away with what was measured on it, and asks for a reason", async () => {
  const check = await begin();
  const known = await db.observations.get("k1");
  await answerPoint(check, known, "changed");
  const [{ now }] = await db.point_checks.toArray();
  await db.measurements.put({ id: "m1", examination: check.examination, observation: now, what: "Tear", value: 12 });
  await linkPhotograph(check, "k1", "p9");
  await answerPoint(check, known, "not-visible");
  const [point] = await db.point_checks.toArray();
  assert.deepEqual([point.answer, point.now, point.reason, point.photograph], ["not-visible", null, "", "p9"]);
  assert.equal(await db.observations.get(now), undefined);
  assert.equal(await db.measurements.count(), 0);
  assert.equal((await openPoints(check)).length, 1);
  await giveReason(check, "k1", "Under the mount");
  assert.equal((await openPoints(check)).length, 0);
});

test("a signed check and its signatures stay as they are", async () => {
  const check = await begin();
  const known = await db.observations.get("k1");
  await answerPoint(check, known, "same");
  await save("loan_check", check.id, { statement: "{}" });
  await db.signatures.put({ id: "s1", loan_check: check.id, revision: 0, name: "Wenna" });
  await assert.rejects(save("loan_check", check.id, { crate: "Crate 3" }), /signed, so it stays/);
  await assert.rejects(answerPoint(check, known, "changed"), /signed, so it stays/);
  await assert.rejects(save("signature", "s1", { name: "Somebody" }), /stays as it was given/);
  assert.equal((await db.loan_checks.get(check.id)).crate, "Crate 2");
});

test("the loan tells what is due, and what is left of each check", async () => {
  let { travellers } = await readJourney("L");
  assert.deepEqual([nextOf(travellers).stage, nextOf(travellers).left], ["outgoing", 1]);
  const check = await begin("outgoing");
  ({ travellers } = await readJourney("L"));
  assert.deepEqual([travellers[0].open.left, travellers[0].open.known, travellers[0].due], [1, 1, null]);
  assert.equal(nextOf(travellers).first.open.check.id, check.id);
  await save("loan_check", check.id, { statement: "{}" });
  ({ travellers } = await readJourney("L"));
  assert.equal(nextOf(travellers).stage, "arrival");
  assert.equal(await readJourney("another"), null);
  await db.objects.delete("o1");
  ({ travellers } = await readJourney("L"));
  assert.equal(nextOf(travellers), null);
});

test("the next open point comes round to the first, and never is the one in hand", () => {
  const point = (id, isSettled) => ({ known: { id }, isSettled });
  const points = [point("a", false), point("b", true), point("c", false)];
  assert.equal(nextOpen(points, "c").known.id, "a");
  assert.equal(nextOpen(points, "a").known.id, "c");
  assert.equal(nextOpen(points).known.id, "a");
  assert.equal(nextOpen([point("a", false)], "a"), null);
});

test("a point is looked at on the last photograph that was taken of it, then on earlier ones", async () => {
  const { earlierPictures } = await import("../../frontend/components/check/earlier-pictures.js");
  await db.photographs.bulkPut([
    { id: "p1", examination: "x0", light: "normal", side: "recto", homography: [1, 0, 0, 0, 1, 0, 0, 0, 1], placing: null },
    { id: "p2", examination: "x0", light: "raking", side: "recto", homography: [1, 0, 0, 0, 1, 0, 0, 0, 1], placing: null },
  ]);
  const outgoing = await begin("outgoing");
  await answerPoint(outgoing, await db.observations.get("k1"), "changed");
  const [point] = await db.point_checks.toArray();
  const [carriedOver, close, other] = [point.now, "p3", "p4"];
  for (const id of [close, other]) {
    await db.photographs.put({ id, examination: outgoing.examination, light: "normal", side: "recto", homography: null, placing: null });
  }
  await linkPhotograph(outgoing, "k1", close);
  const found = await earlierPictures(await db.observations.get(carriedOver));
  assert.deepEqual(found.map(({ photograph }) => photograph.id), [close, other, "p2", "p1"]);
  assert.deepEqual([found[0].examination.id, found[2].examination.id], [outgoing.examination, "x0"]);
});

test("a pass goes on with its own check, not with one that somebody else began", async () => {
  await db.examinations.put({ id: "x9", object: "o1", visit: "v9", started_at: "2026-02-01T08:00:00.000Z", examiner: "3" });
  await db.loan_checks.put({ id: "c9", loan: "L", examination: "x9", stage: "arrival", statement: "" });
  const before = await readJourney("L");
  assert.equal(before.travellers[0].open, null);
  const mine = await begin("arrival");
  assert.notEqual(mine.id, "c9");
  const { travellers } = await readJourney("L");
  assert.equal(travellers[0].open.check.id, mine.id);
  assert.equal(travellers[0].chain.length, 2);
  // With an account it is the one that is begun.
  await db.loan_checks.delete(mine.id);
  session.value = { ...session.value, loan: undefined };
  assert.equal((await readJourney("L")).travellers[0].open.check.id, "c9");
  assert.equal((await begin("arrival")).id, "c9");
});

test("a check tells what was added to its earlier state after that was signed", async () => {
  const check = await begin();
  const added = { examination: "x0", subject: "examination", field: "", signed_name: "Wren Vale" };
  await db.amendments.bulkPut([
    { id: "a1", ...added, reason: "Seen later.", signed_at: "2026-01-05T08:00:00.000Z" },
    { id: "a2", ...added, reason: "Seen first.", signed_at: "2026-01-03T08:00:00.000Z" },
    { id: "a3", ...added, examination: "elsewhere", reason: "Another sheet.", signed_at: "2026-01-04T08:00:00.000Z" },
  ]);
  const { since } = await readCheck(check.id);
  assert.deepEqual(since.map(({ reason }) => reason), ["Seen first.", "Seen later."]);
});

test("a state that was signed for the loan weeks after it was examined is told by both days", async () => {
  const linked = async () => daysOf((await readJourney("L")).travellers[0].chain[0]);
  const check = await begin("outgoing");
  const { examination } = check;
  await db.examinations.update(examination, { started_at: "2026-10-30T10:00:00.000Z" });
  assert.equal(await linked(), "Begun 30 October 2026");
  await save("loan_check", check.id, { statement: "{}" });
  assert.equal(await linked(), "Examined 30 October 2026");
  await db.signatures.put({ id: "s2", loan_check: check.id, signed_at: "2026-11-26T10:00:00.000Z" });
  await db.signatures.put({ id: "s3", loan_check: check.id, signed_at: "2026-11-25T10:00:00.000Z" });
  assert.equal(await linked(), "Examined 30 October 2026, signed 25 November 2026");
  await db.examinations.update(examination, { started_at: "2026-11-25T09:00:00.000Z" });
  assert.equal(await linked(), "Signed 25 November 2026");
});
