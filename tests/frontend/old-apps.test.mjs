import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { troubleOf as troubleOfOld } from "../../fixtures/old-apps/protocol-1-server.js";
import { db } from "../../frontend/store/database.js";
import { headersFor, troubleOf, versionTrouble } from "../../frontend/store/server.js";
import { push } from "../../frontend/sync/push.js";

const SERVER = readFileSync(new URL("../../survey/sync/protocol.py", import.meta.url), "utf8");
const REFUSED = Number(/^REFUSED = (\d+)$/m.exec(SERVER)?.[1]);
const NEWEST = Number(/^NEWEST = (\d+)$/m.exec(SERVER)?.[1]);

function refusal(oldest, newest) {
  return { detail: "Too far apart.", oldest, newest };
}

test("the app speaks the newest protocol of the server that serves it", () => {
  assert.equal(headersFor(null)["Fieldleaf-Protocol"], String(NEWEST));
});

test("the first app takes a refusal of its version for trouble that passes", () => {
  const { kind, message } = troubleOfOld(REFUSED, refusal(2, 3));
  // Of all kinds only “refused” and “too-large” make it give changes up, and “sign-in” locks it.
  assert.equal(kind, "server");
  assert.match(message, /Everything stays saved here and is sent later/);
});

for (const [answer, renew] of [
  [refusal(2, 3), "app"],
  [refusal(0, 0), "server"],
]) {
  test(`a refusal of its version keeps every change waiting, and says to renew the ${renew}`, async () => {
    const change = { id: "c", entity: "visit", entity_id: "v", fields: {}, base: 0, at: "t" };
    await db.outbox.put({ ...change, person: "1", creates: true, tried: false, state: "waiting", reasons: {} });
    globalThis.fetch = async () => Response.json(answer, { status: REFUSED });
    await assert.rejects(push({ token: "t", person: { id: "1" } }), { kind: "version" });
    assert.deepEqual((await db.outbox.toArray()).map(({ state }) => state), ["waiting"]);
    assert.equal(versionTrouble.value, renew);
    await db.outbox.clear();
  });
}

test("the same number from something else is trouble of the server", () => {
  assert.equal(troubleOf(REFUSED, undefined).kind, "server");
});
