/** Settles open questions. This needs the server: the answer counts for everybody. */

import { db } from "../store/database.js";
import { signedIn } from "../store/outbox.js";
import { ask } from "../store/server.js";

/**
 * @param {string} id  of the question
 * @param {{choice: "shown" | "kept"} | {value: unknown}} answer
 * @throws {import("../store/server.js").ServerTrouble} with a sentence when it was not settled
 */
export async function settle(id, answer) {
  await ask(`/api/sync/questions/${id}/settle`, {
    method: "POST",
    token: signedIn().token,
    body: answer,
  });
  await db.questions.delete(id);
}
