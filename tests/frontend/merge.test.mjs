import assert from "node:assert/strict";
import { test } from "node:test";

import { merge } from "../../frontend/store/merge.js";

const ID = "0197a000-0000-7000-8000-000000000002";

function pulled(fields, others = {}) {
  return { entity: "examination", id: ID, revision: 12, deleted: false, fields, ...others };
}

test("what the server says stands, beside the tablet's own fields", () => {
  const held = { id: ID, revision: 3, notes: "old", grade: "good", _open: true };
  assert.deepEqual(merge(pulled({ notes: "new", grade: "fair" }), held, []), {
    id: ID,
    revision: 12,
    notes: "new",
    grade: "fair",
    _open: true,
  });
});

test("words on their way are not overwritten, and the last of them shows", () => {
  const line = [
    { state: "sending", fields: { notes: "mine", grade: "poor" } },
    { state: "waiting", fields: { notes: "mine too" } },
  ];
  const merged = merge(pulled({ notes: "theirs", grade: "fair", mount: "hinged" }), undefined, line);
  assert.deepEqual(merged, {
    id: ID,
    revision: 12,
    notes: "mine too",
    grade: "poor",
    mount: "hinged",
  });
});

test("a word that the own one hides does not count as seen", () => {
  const held = { id: ID, revision: 3, notes: "mine" };
  const line = [{ state: "waiting", fields: { notes: "mine", lights: ["raking"] } }];
  assert.equal(merge(pulled({ notes: "theirs", lights: ["raking"] }), held, line).revision, 3);
  assert.equal(merge(pulled({ notes: "mine", lights: ["raking"] }), held, line).revision, 12);
});

test("a refused signature does not close the form, the words beside it stay", () => {
  const line = [
    { state: "refused", fields: { signed_at: "2099-01-01T00:00:00Z", signed_name: "A", notes: "b" } },
  ];
  const merged = merge(pulled({ signed_at: null, signed_name: "", notes: "" }), undefined, line);
  assert.equal(merged.signed_at, null);
  assert.equal(merged.notes, "b");
});

test("a row deleted elsewhere goes, but not while words for it are on their way", () => {
  const held = { id: ID, revision: 3, notes: "mine" };
  const gone = pulled(null, { deleted: true });
  assert.equal(merge(gone, held, []), null);
  assert.equal(merge(gone, held, [{ state: "waiting", fields: { notes: "mine" } }]), held);
});

test("a row deleted here does not come back", () => {
  const line = [{ state: "waiting", fields: { deleted: true } }];
  assert.equal(merge(pulled({ notes: "" }), undefined, line), null);
});
