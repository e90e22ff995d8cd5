/** What the browser cleared: asks the server which of it had arrived, and puts the list away. */

import { CLEARED, hasCleared } from "./cleared.js";
import { ask } from "../store/server.js";
import { clearings, keepClearings } from "./ledger.js";

/** @import { Unsent } from "./ledger.js" */

const ASKED_AT_ONCE = 1000;

/**
 * Asks of all that was noted as not sent: some may have arrived just before, its answer lost.
 *
 * @param {string} token
 * @throws {import("../store/server.js").ServerTrouble}
 */
export async function checkClearings(token) {
  const all = clearings();
  const unsure = all.flatMap(({ unsent }) => unsent ?? []).filter((item) => !item.arrived);
  const idsOf = (/** @type {Unsent["kind"]} */ kind) =>
    unsure.filter((item) => item.kind === kind).map((item) => item.id);
  const arrived = new Set([
    ...(await askOf(idsOf("change"), async (changes) => {
      const answer = await ask("/api/sync/received", { method: "POST", token, body: { changes } });
      return answer.body.received;
    })),
    ...(await askOf(idsOf("photograph"), async (sha256) => {
      const answer = await ask("/api/sync/stored", { method: "POST", token, body: { sha256 } });
      return answer.body.stored;
    })),
  ]);
  for (const item of unsure) item.arrived = arrived.has(item.id);
  keepClearings(all);
}

/** The person has read the lists and needs them no longer. */
export function putAway() {
  localStorage.removeItem(CLEARED);
  hasCleared.value = false;
}

/**
 * @param {string[]} ids
 * @param {(some: string[]) => Promise<string[]>} question
 * @returns {Promise<string[]>}  those that the server has
 */
async function askOf(ids, question) {
  const found = [];
  for (let at = 0; at < ids.length; at += ASKED_AT_ONCE) {
    found.push(...(await question(ids.slice(at, at + ASKED_AT_ONCE))));
  }
  return found;
}
