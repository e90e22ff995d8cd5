/**
 * How the app looks and which hand holds the tablet. Kept in localStorage, which look.js can
 * read before the first paint, so that no screen flashes white in a dark store.
 */

import { effect, signal } from "../vendor/ui.js";

const root = document.documentElement;

export const look = signal(/** @type {"light" | "dim"} */ (root.dataset.look ?? "light"));
export const handed = signal(/** @type {"left" | "right"} */ (root.dataset.handed ?? "right"));

/** Minutes under the ultraviolet lamp in one examination from which on the timer warns. Common
 * practice, no source. */
export const LAMP_LIMIT_MIN = 10;
const LAMP_LIMIT = "fieldleaf-lamp-limit";

export const lampLimit = signal(Number(localStorage.getItem(LAMP_LIMIT)) || LAMP_LIMIT_MIN);

effect(() => localStorage.setItem(LAMP_LIMIT, String(lampLimit.value)));

effect(() => {
  root.dataset.look = look.value;
  localStorage.setItem("fieldleaf-look", look.value);
});

effect(() => {
  root.dataset.handed = handed.value;
  localStorage.setItem("fieldleaf-handed", handed.value);
});
