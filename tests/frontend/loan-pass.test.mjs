import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { afterEach, beforeEach, test } from "node:test";

import { db, readSetting, writeSetting } from "../../frontend/store/database.js";
import { carriedOf, setCarried } from "../../frontend/store/loans/carried.js";
import {
  askAgain, clearAway, endPass, isOver, keepPass, newToken, noteEnd, openKept, passIn, passToOpen,
} from "../../frontend/store/loans/pass.js";
import { needsSignIn, passEnd, restore, session } from "../../frontend/store/session.js";
import { create } from "../../frontend/store/write.js";
import { carryPictures } from "../../frontend/sync/carry-pictures.js";

const PASS = "aB3-xY_9".repeat(5);
const WENNA = { id: 9, username: "pass-1", name: "Wenna Tregear", role: "courier" };
const END = "2999-01-01T00:00:00Z";

/** What was asked of the server: [path, body]. */
let asked = [];
const realFetch = globalThis.fetch;

/** Puts a server in place: `answer(path, body)` gives a Response, or throws for no network. */
function serve(answer) {
  globalThis.fetch = async (path, { body } = {}) => {
    const sent = body === undefined ? undefined : JSON.parse(new TextDecoder().decode(body));
    asked.push([path, sent]);
    return answer(path, sent);
  };
}

function opened(_, { device_token }) {
  return Response.json({ token: device_token, expires_at: END, device_id: "d", person: WENNA, loan: "L" });
}

beforeEach(() => {
  session.value = null;
  passEnd.value = null;
  needsSignIn.value = false;
  asked = [];
});
afterEach(async () => {
  globalThis.fetch = realFetch;
  await Promise.all(db.tables.map((table) => table.clear()));
});

async function open() {
  await keepPass(PASS);
  serve(opened);
  await openKept("Phone");
}

test("a pass is found in its link and in its bare words, and in nothing else", () => {
  assert.equal(passIn(`https://survey.example/field/#/pass/${PASS}`), PASS);
  assert.equal(passIn(` ${PASS}\n`), PASS);
  for (const text of ["", "PE.1931.6", "https://survey.example/field/#/find", `${PASS} and more`]) {
    assert.equal(passIn(text), null);
  }
});

test("a device's own token is 32 bytes that no other has", () => {
  const tokens = new Set(Array.from({ length: 50 }, newToken));
  assert.equal(tokens.size, 50);
  for (const token of tokens) assert.match(token, /^[\w-]{43}$/);
});

test("an answer that is lost is asked for again with the same token", async () => {
  await keepPass(PASS);
  serve(() => {
    throw new Error("lost");
  });
  await assert.rejects(openKept("Phone"), /no connection/);
  assert.equal(session.value, null);
  assert.equal(await passToOpen(), PASS);
  // The link is opened once more.
  await open();
  const [[, first], [, second]] = asked;
  assert.equal(first.device_token, second.device_token);
  assert.deepEqual([session.value.loan, session.value.person.id, session.value.token], ["L", "9", first.device_token]);
  assert.equal(await passToOpen(), null);
});

test("a pass that does not open says why, and leaves whoever works here signed in", async () => {
  const before = { token: "t", person: { ...WENNA, id: "1" }, device_id: "e", expires_at: END };
  session.value = before;
  await keepPass(PASS);
  serve(() => Response.json({ detail: "This pass was withdrawn." }, { status: 403 }));
  await assert.rejects(openKept("Phone"), /This pass was withdrawn/);
  assert.equal(session.value, before);
  assert.equal(await passToOpen(), null);
});

test("a pass is over by the device's clock, and by the server's when the device's was set back", () => {
  const end = Date.parse("2026-06-01T20:00:00Z");
  const over = (now, heard) => isOver("2026-06-01T20:00:00Z", now, heard);
  assert.equal(over(end - 1, 0), false);
  assert.equal(over(end, 0), true);
  assert.equal(over(end - 86_400_000, end + 1), true);
});

test("an end that was seen holds at the next start, until the server says otherwise", async () => {
  await open();
  await endPass("over", "");
  session.value = null;
  passEnd.value = null;
  await restore();
  assert.equal(passEnd.value.why, "over");
  assert.equal(needsSignIn.value, true);
  serve(() => Response.json({ rows: [], expires_at: "2999-02-01T00:00:00Z" }));
  assert.equal(await askAgain(), true);
  assert.equal(passEnd.value, null);
  assert.equal(session.value.expires_at, "2999-02-01T00:00:00Z");
  assert.equal(await readSetting("pass_end"), undefined);
});

test("a pass that the server does not take stays closed, with its words", async () => {
  await open();
  await endPass("over", "");
  const headers = { "WWW-Authenticate": "Device" };
  serve(() => Response.json({ detail: "This device was signed out." }, { status: 401, headers }));
  assert.equal(await askAgain(), false);
  assert.deepEqual([passEnd.value.why, passEnd.value.said], ["withdrawn", "This device was signed out."]);
  // What stands in for the server on some networks is not believed.
  serve(() => Response.json({ detail: "Buy access." }, { status: 401 }));
  await assert.rejects(askAgain(), /Something other than the Fieldleaf server/);
});

test("a pass whose end was moved to the past is over, on the day that the server names", async () => {
  await open();
  const headers = { "WWW-Authenticate": "Device" };
  const said = { detail: "This pass ended on 28 November 2026.", ended_at: "2026-11-28T22:59:59Z" };
  serve(() => Response.json(said, { status: 401, headers }));
  assert.equal(await askAgain(), false);
  const { why, at } = passEnd.value;
  assert.deepEqual([why, at, passEnd.value.said], ["over", said.ended_at, said.detail]);
});

test("the end that the server moved is kept", async () => {
  await open();
  await noteEnd("2026-12-24T20:00:00Z");
  session.value = null;
  await restore();
  assert.equal(session.value.expires_at, "2026-12-24T20:00:00Z");
});

test("nothing is taken away while something is unsent; then all of the loan is", async () => {
  await open();
  await db.loans.put({ id: "L", reference: "L.1", title: "Ink" });
  await db.previews.put({ sha256: "a", blob: new Blob(["a"]) });
  await writeSetting("drafts:x", { a: "1" });
  await create("visit", { name: "Arrival", purpose: "loan-check" });
  assert.equal(await clearAway(), false);
  assert.equal(await db.loans.count(), 1);
  await db.outbox.clear();
  await db.uploads.put({ sha256: "f", size_bytes: 3, sent: 0, bytes_sent: 0, trouble: "", url: null });
  assert.equal(await clearAway(), false);
  await db.uploads.update("f", { sent: 1 });
  assert.equal(await clearAway(), true);
  const left = await Promise.all([db.loans, db.visits, db.previews, db.uploads].map((table) => table.count()));
  assert.deepEqual(left, [0, 0, 0, 0]);
  assert.equal(session.value, null);
  for (const key of ["session", "pull", "drafts:x"]) assert.equal(await readSetting(key), undefined);
  // Its link opens it again on this device alone, should its end be moved.
  assert.equal(await passToOpen(), null);
  asked = [];
  await open();
  assert.equal(asked[0][1].device_token, session.value.token);
});

test("the same link on the same device asks with the same token, however long ago it was", async () => {
  await open();
  const { token } = session.value;
  await endPass("over", "");
  assert.equal(await clearAway(), true);
  await open();
  assert.equal(session.value.token, token);
  assert.equal(passEnd.value, null);
});

async function lend() {
  await db.loans.put({ id: "L", reference: "L.1", title: "Ink" });
  await db.loaned_objects.put({ id: "l1", loan: "L", object: "o1", crate: "", order: 0 });
  await db.examinations.put({ id: "x0", object: "o1", started_at: "2026-01-02", signed_at: "2026-01-02" });
  await db.examinations.put({ id: "x9", object: "o9", started_at: "2026-01-02", signed_at: "2026-01-02" });
  for (const [id, examination] of [["p1", "x0"], ["p2", "x0"], ["p9", "x9"]]) {
    await db.photographs.put({ id, examination, sha256: `sha-${id}` });
  }
}

function picture() {
  return new Response(new Blob(["jpeg"]), { headers: { "Content-Type": "image/jpeg" } });
}

test("the pictures of the pass's loan come, and after a break only those that are missing", async () => {
  await open();
  await lend();
  let answers = 0;
  serve(() => {
    if (answers++ === 2) throw new Error("gone");
    return picture();
  });
  await assert.rejects(carryPictures("t"), /broke off/);
  let carried = await carriedOf("L");
  assert.deepEqual([carried.here, carried.pictures, carried.rows], [1, 2, false]);
  await writeSetting("pull", { cursor: 1, round: "r", isWhole: true });
  asked = [];
  serve(picture);
  await carryPictures("t");
  assert.deepEqual(asked.map(([path]) => path), ["/api/photographs/sha-p2/preview", "/api/photographs/sha-p2/thumbnail"]);
  carried = await carriedOf("L");
  assert.deepEqual([carried.here, carried.bytes > 0, carried.rows, carried.absent], [2, true, true, []]);
});

test("a network's own page is never kept for a picture", async () => {
  await open();
  await lend();
  serve(() => new Response("<html>Sign in</html>", { headers: { "Content-Type": "text/html" } }));
  await assert.rejects(carryPictures("t"), /answered in the place of a picture/);
  assert.equal(await db.previews.count(), 0);
});

test("a picture that the server does not have is named, and hinders no other", async () => {
  await open();
  await lend();
  serve((path) => (path.includes("sha-p1") ? Response.json({ detail: "no" }, { status: 404 }) : picture()));
  await carryPictures("t");
  const { here, absent } = await carriedOf("L");
  assert.equal(here, 1);
  assert.match(absent[0].why, /not reached the server yet/);
});

test("a loan that is carried no longer gives its room back", async () => {
  session.value = { token: "t", person: { ...WENNA, id: "1" }, device_id: "e", expires_at: END };
  await lend();
  await setCarried("L", true);
  serve(picture);
  await carryPictures("t");
  assert.equal(await db.previews.count(), 2);
  await setCarried("L", false);
  await carryPictures("t");
  assert.equal(await db.previews.count(), 0);
});
