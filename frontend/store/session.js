/**
 * Who works on this tablet. Signing in needs the server once; from then on the tablet works by
 * itself. A session that has run out hinders sending only: needsSignIn says so.
 */

import { signal } from "../vendor/ui.js";
import { db, readSetting, writeSetting } from "./database.js";
import { ask } from "./server.js";

/** @import { Session } from "./types.js" */

export const session = signal(/** @type {Session | null} */ (null));

/** True when the server will not take this device's token any more. */
export const needsSignIn = signal(false);

/** Reads the kept session when the app starts. */
export async function restore() {
  const kept = /** @type {Session | undefined} */ (await readSetting("session"));
  session.value = kept ?? null;
  needsSignIn.value = kept !== undefined && Date.parse(kept.expires_at) <= Date.now();
}

/**
 * @param {{username: string, password: string, device_name: string}} credentials
 * @throws {import("./server.js").ServerTrouble} its message says why it did not work
 */
export async function signIn({ username, password, device_name }) {
  // One device for each person who uses this tablet, so that their changes are told apart.
  const devices = (await readSetting("devices")) ?? {};
  const { body } = await ask("/api/sign-in", {
    method: "POST",
    body: { username, password, device_id: devices[username] ?? null, device_name },
  });
  const { token, expires_at, device_id } = body;
  const person = { ...body.person, id: String(body.person.id) };
  /** @type {Session} */
  const opened = { token, expires_at, device_id, person };
  const before = session.value?.device_id ?? (await readSetting("last_device"));
  await db.transaction("rw", db.settings, async () => {
    await writeSetting("session", opened);
    await writeSetting("devices", { ...devices, [username]: device_id });
    await writeSetting("last_device", device_id);
    // Another device carries another part of the catalogue: fetch it from the start.
    if (before !== device_id) await db.settings.delete("pull");
  });
  session.value = opened;
  needsSignIn.value = false;
}

/**
 * Ends the session here, and on the server when it can be reached. The records stay on the
 * tablet; what has not been sent waits for the same person to sign in again.
 */
export async function signOut() {
  const token = session.value?.token;
  await db.settings.delete("session");
  session.value = null;
  needsSignIn.value = false;
  if (token) await ask("/api/sign-out", { method: "POST", token }).catch(() => undefined);
}
