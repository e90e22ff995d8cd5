/** Chooses what this tablet carries. */

import { db } from "../store/database.js";
import { signedIn } from "../store/outbox.js";
import { ask } from "../store/server.js";

/**
 * Carries the objects in these places and all below them; none means the whole collection.
 * The next sync fetches them and lets go of the others.
 *
 * @param {string[]} locations
 * @throws {import("../store/server.js").ServerTrouble} with a sentence when nothing was changed
 */
export async function carry(locations) {
  await ask("/api/sync/scope", { method: "PUT", token: signedIn().token, body: { locations } });
  await db.settings.delete("pull");
}
