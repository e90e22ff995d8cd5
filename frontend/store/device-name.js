/** What this device is called, so that its work can be told from that of others. */

import { readSetting } from "./database.js";

/** A first proposal, only by the size of the screen. */
export function guessedName() {
  return Math.min(screen.width, screen.height) < 600 ? "Phone" : "Tablet";
}

/** The name that was given to it, else the proposal. @returns {Promise<string>} */
export async function deviceName() {
  return String((await readSetting("device_name")) || guessedName());
}

/** "phone" or "tablet", for use inside a sentence. */
export function deviceWord() {
  return guessedName().toLowerCase();
}
