/** Whether an ultraviolet lamp's timer runs, and since when: kept as a draft, so it outlives a reload. */

/** The name of the draft. Its text is the moment of the start, ms since 1970. */
export const LAMP_SINCE = "lamp:since";

/** @param {import("./held.js").Held} held */
export function isRunning(held) {
  return LAMP_SINCE in held.drafts.value;
}
