/**
 * How the app looks and which hand holds the tablet. Kept in localStorage, which look.js can
 * read before the first paint, so that no screen flashes white in a dark store.
 */

import { effect, signal } from "../vendor/ui.js";

const root = document.documentElement;

export const look = signal(/** @type {"light" | "dim"} */ (root.dataset.look ?? "light"));
export const handed = signal(/** @type {"left" | "right"} */ (root.dataset.handed ?? "right"));

effect(() => {
  root.dataset.look = look.value;
  localStorage.setItem("fieldleaf-look", look.value);
});

effect(() => {
  root.dataset.handed = handed.value;
  localStorage.setItem("fieldleaf-handed", handed.value);
});
