import assert from "node:assert/strict";
import { test } from "node:test";

import {
  heldInWords,
  stateInASentence,
  stateInWords,
  waitingInWords,
} from "../../frontend/components/sync-words.js";

const SENT = {
  online: true,
  busy: false,
  records: 0,
  photographs: 0,
  bytes: 0,
  needsYou: [],
  lastSentAt: "2025-03-12T10:00:00Z",
};
const WAITING = { ...SENT, records: 12, photographs: 5, bytes: 48_200_000 };
const MATTER = { id: "1", kind: "clock", sentence: "Set the clock.", examination: null };

test("what waits is said with its numbers and size", () => {
  assert.equal(waitingInWords(WAITING), "12 records, 5 photographs, 48 MB");
  assert.equal(waitingInWords({ records: 1, photographs: 0, bytes: 0 }), "1 record");
  assert.equal(waitingInWords(SENT), "");
});

test("the worst state is the one shown", () => {
  const words = (state, mustSignIn = false) => stateInWords(state, mustSignIn).word;
  assert.equal(words({ ...WAITING, needsYou: [MATTER] }, true), "Needs you");
  assert.equal(stateInWords(WAITING, true).detail, "Sign in again to send");
  assert.equal(words({ ...WAITING, busy: true }), "Sending");
  assert.equal(words({ ...WAITING, online: false }), "Saved here");
  assert.equal(words({ ...SENT, busy: true }), "Receiving");
  assert.equal(words(SENT), "Sent");
});

test("a tablet that was never in step does not claim to have sent", () => {
  const fresh = { ...SENT, lastSentAt: null };
  assert.equal(stateInWords(fresh, false).word, "Nothing sent yet");
  assert.match(stateInASentence(fresh, false), /Connect to the network once/);
});

test("the sentence says what happens next", () => {
  assert.match(stateInASentence({ ...WAITING, online: false }, false), /sent by itself/);
  assert.match(stateInASentence(WAITING, true), /after you sign in again/);
  assert.match(stateInASentence({ ...WAITING, needsYou: [MATTER] }, false), /your word/);
});

test("photographs that are held are told apart from what is on its way", () => {
  const held = { ...SENT, held: true, photographs: 12, bytes: 48_000_000 };
  assert.equal(heldInWords(held), "Photographs held: 12, 48 MB");
  assert.deepEqual(stateInWords(held, false), {
    shape: "waiting",
    word: "Saved here",
    detail: "Photographs held: 12, 48 MB",
  });
  assert.match(stateInASentence(held, false), /stay here until you let them go/);
  const both = stateInWords({ ...held, records: 3 }, false);
  assert.equal(both.detail, "Waiting to send: 3 records. Photographs held: 12, 48 MB");
  assert.equal(heldInWords({ ...held, held: false }), "");
});

test("open questions are told, but hold nothing up", () => {
  const asked = { ...SENT, needsYou: [{ ...MATTER, kind: "question" }] };
  assert.deepEqual(stateInWords(asked, false), {
    shape: "sent",
    word: "Sent",
    detail: "Nothing waiting. 1 open question",
  });
  assert.match(stateInASentence(asked, false), /is with the server/);
});
