/**
 * Which screen the address asks for. Addresses are hashes, such as #/find?visit=…, so that the
 * app is one page and opens without a network.
 */

import { session } from "./store/session.js";
import { signal } from "./vendor/ui.js";

/** @import { ComponentType } from "./vendor/ui.js" */

/**
 * @typedef {{[name: string]: string}} Props  what the address says: id, and its query
 * @typedef {() => Promise<ComponentType<any>>} Load
 */

/** Each screen is loaded when it is first opened. @type {Record<string, Load>} */
const SCREENS = {
  "sign-in": async () => (await import("./screens/sign-in.js")).SignIn,
  visits: async () => (await import("./screens/visits.js")).Visits,
  visit: async () => (await import("./screens/visit.js")).Visit,
  start: async () => (await import("./screens/start.js")).Start,
  find: async () => (await import("./screens/find.js")).Find,
  examine: async () => (await import("./screens/examine.js")).Examine,
  examination: async () => (await import("./screens/examination.js")).ExaminationView,
  "check-report": async () => (await import("./screens/check-report.js")).CheckReport,
  sign: async () => (await import("./screens/sign-check.js")).SignCheck,
  sync: async () => (await import("./screens/sync.js")).Sync,
  unsent: async () => (await import("./screens/unsent.js")).UnsentWork,
  cleared: async () => (await import("./screens/cleared.js")).Cleared,
  guide: async () => (await import("./screens/guide.js")).Guide,
  settings: async () => (await import("./screens/settings.js")).Settings,
  pass: async () => (await import("./screens/pass.js")).Pass,
  loans: async () => (await import("./screens/loans.js")).Loans,
  loan: async () => (await import("./screens/loan.js")).LoanScreen,
  check: async () => (await import("./screens/check.js")).Check,
};

/** What a courier's pass has something in; all else leads to its loan. */
const WITH_A_PASS = [
  "pass", "loan", "check", "sign", "check-report", "examine", "examination",
  "sync", "unsent", "cleared", "guide", "settings", "sign-in",
];

/** The screen that stands above all others for whoever works here. */
export function firstScreen() {
  return session.value?.loan ? `/loan/${session.value.loan}` : "/visits";
}

/** Whether a screen is offered to whoever works here. @param {string} name */
function isOffered(name) {
  return name in SCREENS && (!session.value?.loan || WITH_A_PASS.includes(name));
}

/**
 * The screen on show; `route` is its address without "#". Null until the first one is loaded.
 * @type {import("./vendor/ui.js").Signal<{route: string, Screen: ComponentType<any>, props: Props} | null>}
 */
export const shown = signal(/** @type {any} */ (null));

/**
 * Takes an address apart.
 *
 * @param {string} route  for example "/find?visit=5"
 * @returns {{name: string, props: Props}}
 */
export function parse(route) {
  const [path, query = ""] = route.split("?");
  const [, name = "", id] = path.split("/");
  const props = Object.fromEntries(new URLSearchParams(query));
  return { name, props: id === undefined ? props : { ...props, id: decodeURIComponent(id) } };
}

/** The address on show, "" when there is none. */
export function currentRoute() {
  return location.hash.slice(1);
}

/**
 * Shows the screen the address asks for; the former one stays until the new one is loaded.
 * An address that is no screen leads to the first one.
 */
export async function showCurrent() {
  const route = currentRoute();
  const { name, props } = parse(route);
  if (!isOffered(name)) {
    location.replace(`#${firstScreen()}`);
    return;
  }
  const Screen = await SCREENS[name]().catch((error) => () => {
    throw error;
  });
  if (currentRoute() === route) shown.value = { route, Screen, props };
}
