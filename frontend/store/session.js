/**
 * Who works on this tablet. Signing in needs the server once; from then on the tablet works by
 * itself. A session that has run out hinders sending only: needsSignIn says so. A courier's pass
 * is a session as well, which opens one loan and ends for good: passEnd says so.
 */

import { signal } from "../vendor/ui.js";
import { db, readSetting, writeSetting } from "./database.js";
import { ask } from "./server.js";

/** @import { PassEnd, Session } from "./types.js" */

export const session = signal(/** @type {Session | null} */ (null));

/** True when the server will not take this device's token any more. */
export const needsSignIn = signal(false);

/** How the courier's pass on this device ended; null while it has not, and where there was none. */
export const passEnd = signal(/** @type {PassEnd | null} */ (null));

/** Reads the kept session when the app starts. */
export async function restore() {
  const [kept, ended] = await Promise.all([
    /** @type {Promise<Session | undefined>} */ (readSetting("session")),
    /** @type {Promise<PassEnd | undefined>} */ (readSetting("pass_end")),
  ]);
  session.value = kept ?? null;
  passEnd.value = ended ?? null;
  needsSignIn.value = kept !== undefined && (Boolean(ended) || Date.parse(kept.expires_at) <= Date.now());
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
  await begin(body, { devices: { ...devices, [username]: body.device_id } });
}

/**
 * Opens a courier's pass. The same device may ask again, as often as it likes.
 *
 * @param {{token: string, device_token: string, device_name: string}} asked  device_token: made
 *   by this device, and kept by it before it asks
 * @throws {import("./server.js").ServerTrouble} its message says why it did not open
 */
export async function openPass(asked) {
  const { body } = await ask("/api/passes/open", { method: "POST", body: asked });
  await begin(body);
}

/**
 * @param {any} body  what the server says of whoever comes in
 * @param {{[key: string]: unknown}} [settings]  to be kept with it
 */
async function begin({ token, expires_at, device_id, person, loan }, settings = {}) {
  /** @type {Session} */
  const opened = {
    token,
    expires_at,
    device_id,
    person: { ...person, id: String(person.id) },
    ...(loan ? { loan: String(loan) } : {}),
  };
  const before = session.value?.device_id ?? (await readSetting("last_device"));
  await db.transaction("rw", db.settings, async () => {
    await writeSetting("session", opened);
    await writeSetting("last_device", device_id);
    for (const [key, value] of Object.entries(settings)) await writeSetting(key, value);
    await db.settings.delete("pass_end");
    // Another device carries another part of the catalogue: fetch it from the start.
    if (before !== device_id) await db.settings.bulkDelete(["pull", "was_whole"]);
  });
  passEnd.value = null;
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
