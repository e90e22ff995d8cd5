/** Where the work is, in words: saved here, waiting, sent, or in need of you. */

import { bytes, count, grouped } from "./wording.js";

/** What waits to be sent, in words: "12 records, 5 photographs, 48 MB". */
export function waitingInWords(
  /** @type {{records: number, photographs: number, bytes: number}} */ waiting,
) {
  const parts = [];
  if (waiting.records) parts.push(count(waiting.records, "record"));
  if (waiting.photographs) {
    parts.push(count(waiting.photographs, "photograph"), bytes(waiting.bytes));
  }
  return parts.join(", ");
}

/** What is held back, in words: "Photographs held: 12, 48 MB"; "" when nothing is. */
export function heldInWords(
  /** @type {{held: boolean, photographs: number, bytes: number}} */ { held, photographs, bytes: size },
) {
  return held && photographs ? `Photographs held: ${grouped(photographs)}, ${bytes(size)}` : "";
}

/** Without the photographs that are held. @param {import("../sync/state.js").SyncState} state */
function onTheWay(state) {
  return waitingInWords(state.held ? { ...state, photographs: 0 } : state);
}

/**
 * Open questions hold nothing up, and may be anybody's: they are told beside the state.
 *
 * @param {import("../sync/state.js").SyncState} state
 */
function sorted({ needsYou }) {
  const hindering = needsYou.filter(({ kind }) => kind !== "question").length;
  return { hindering, questions: needsYou.length - hindering };
}

/**
 * The state, worst first.
 *
 * @param {import("../sync/state.js").SyncState} state
 * @param {boolean} mustSignIn  the server will not take anything before that
 * @returns {{shape: "needs" | "waiting" | "sent", word: string, detail: string}}
 */
export function stateInWords(state, mustSignIn) {
  const waiting = onTheWay(state);
  const held = heldInWords(state);
  const { hindering, questions } = sorted(state);
  if (hindering) {
    const detail = `${count(state.needsYou.length, "thing")} to look at`;
    return { shape: "needs", word: "Needs you", detail };
  }
  if (mustSignIn) {
    return { shape: "needs", word: "Needs you", detail: "Sign in again to send" };
  }
  if (waiting && state.busy) return { shape: "waiting", word: "Sending", detail: waiting };
  if (waiting) {
    const detail = [`Waiting to send: ${waiting}`, held].filter(Boolean).join(". ");
    return { shape: "waiting", word: "Saved here", detail };
  }
  if (state.busy) {
    return { shape: "waiting", word: "Receiving", detail: "What you carry is brought up to date" };
  }
  if (held) return { shape: "waiting", word: "Saved here", detail: held };
  if (!state.lastSentAt) return { shape: "waiting", word: "Nothing sent yet", detail: "" };
  const waitsNot = state.online ? "Nothing waiting" : "No network, nothing waiting";
  const detail = questions ? `${waitsNot}. ${count(questions, "open question")}` : waitsNot;
  return { shape: "sent", word: "Sent", detail };
}

/**
 * The same in a full sentence.
 *
 * @param {import("../sync/state.js").SyncState} state
 * @param {boolean} mustSignIn
 * @returns {string}
 */
export function stateInASentence(state, mustSignIn) {
  const waits = onTheWay(state) !== "";
  if (sorted(state).hindering) {
    return "Everything is saved on this device. Some of it cannot go on without your word; see below.";
  }
  if (mustSignIn) {
    return "Everything is saved on this device. Your sign-in has ended: you can go on working, and what waits is sent after you sign in again.";
  }
  if (state.busy) return "You can go on working while this runs.";
  if (!waits && !state.lastSentAt) {
    return "Connect to the network once, so that this device can receive what it is to carry.";
  }
  if (waits && state.online) return "Everything is saved on this device and is sent shortly.";
  if (waits) {
    return "Everything is saved on this device. It is sent by itself when there is a network again.";
  }
  if (heldInWords(state)) {
    return "The records are with the server. The photographs are saved on this device and stay here until you let them go.";
  }
  return "All you recorded is with the server, and what you carry was brought up to date with it.";
}
