import assert from "node:assert/strict";
import { test } from "node:test";

import { growLine } from "../../frontend/store/outbox.js";

function change(fields, { base = 7, ...others } = {}) {
  return { fields, base, person: "1", state: "waiting", tried: false, ...others };
}

function grow(line, fields, { base = 7, person = "1" } = {}) {
  const { grown, rest } = growLine(line, { fields, base, person });
  return { grown: grown.map((each) => each.fields), rest };
}

test("keystrokes grow the change that waits", () => {
  const line = [change({ note: "fox" })];
  assert.deepEqual(grow(line, { note: "foxing", side: "verso" }), {
    grown: [{ note: "foxing", side: "verso" }],
    rest: {},
  });
});

test("a change that may have reached the server is never altered", () => {
  const line = [change({ note: "fox" }, { tried: true })];
  assert.deepEqual(grow(line, { note: "foxing" }), { grown: [], rest: { note: "foxing" } });
  const later = [...line, change({ note: "foxin" })];
  assert.deepEqual(grow(later, { note: "foxing" }).grown, [{ note: "foxing" }]);
  const earlier = [change({ note: "f" }), change({ note: "fox" }, { tried: true, state: "sending" })];
  assert.deepEqual(grow(earlier, { note: "foxing" }).rest, { note: "foxing" });
});

test("a field that waits keeps the base it was written on", () => {
  const line = [change({ note: "fox" }, { base: 7 })];
  const { grown, rest } = growLine(line, {
    fields: { note: "foxing", side: "verso" },
    base: 9,
    person: "1",
  });
  assert.deepEqual(grown, [change({ note: "foxing" }, { base: 7 })]);
  assert.deepEqual(rest, { side: "verso" });
});

test("a signature does not slip in front of what was seen after the line was begun", () => {
  const line = [change({ notes: "" })];
  assert.deepEqual(grow(line, { signed_at: "2025-03-12T10:00:00Z" }).rest, {
    signed_at: "2025-03-12T10:00:00Z",
  });
});

test("a correction goes into the change that was refused, other fields do not", () => {
  const line = [change({ sheet_width_mm: 0 }, { state: "refused", tried: true })];
  assert.deepEqual(grow(line, { sheet_width_mm: 320, notes: "Measured again" }), {
    grown: [{ sheet_width_mm: 320 }],
    rest: { notes: "Measured again" },
  });
});

test("one person's words do not enter another person's change", () => {
  const line = [change({ note: "fox" }, { person: "2" })];
  assert.deepEqual(grow(line, { note: "foxing" }).rest, { note: "foxing" });
});
