/**
 * Whether photographs are held on the tablet: a person may save a metered network for records,
 * or hold them until a better moment. Records are small and never held.
 */

import { computed, effect, signal } from "../vendor/ui.js";

/**
 * The Network Information API (WICG draft), where a browser has it.
 * @typedef {EventTarget & {type?: string, saveData?: boolean}} Connection
 */

/** @type {Connection | undefined} */
const connection = "connection" in navigator ? /** @type {any} */ (navigator).connection : undefined;

/** Whether this browser says over what kind of network it is connected. Most do not. */
export const canTellMetered = typeof connection?.type === "string";

/** Kinds of network that are usually paid by what goes over them. Common practice, no source. */
const METERED = ["cellular", "wimax", "bluetooth"];

/**
 * any        on every network
 * unmetered  only where the network is not metered, as far as the browser can tell
 * asked      only when the person says so
 * @typedef {"any" | "unmetered" | "asked"} SendOn
 */

const KEPT = "fieldleaf-send-photographs";
const chosen = /** @type {SendOn | null} */ (localStorage.getItem(KEPT));

/** When photographs are sent, as the person chose. */
export const sendOn = signal(chosen ?? "any");

/** True from the person's word until everything that waited then is sent. */
export const sendAnyway = signal(false);

const isMetered = signal(readMetered());
connection?.addEventListener("change", () => (isMetered.value = readMetered()));

/** Whether photographs stay here for now. */
export const held = computed(
  () =>
    !sendAnyway.value &&
    (sendOn.value === "asked" || (sendOn.value === "unmetered" && isMetered.value)),
);

effect(() => localStorage.setItem(KEPT, sendOn.value));

function readMetered() {
  return connection?.saveData === true || METERED.includes(connection?.type ?? "");
}
