/** Offers a new version of the app, and changes to it only when the person says so. */

import { effect, signal } from "../vendor/ui.js";
import { versionTrouble } from "./server.js";

/** True when a new version is on the tablet and waits. */
export const updateReady = signal(false);

/** @type {ServiceWorker | null} */
let waiting = null;

/** Why this browser cannot open the app without a network, in a sentence; null if it can. */
export const cannotGoOffline = signal(/** @type {string | null} */ (null));

/** True until the app's own files are on the tablet: before that it must not lose the network. */
export const isBeingKept = signal(!navigator.serviceWorker?.controller);

/** Registers the service worker, which carries the app's files for use without a network. */
export async function watchForUpdates() {
  try {
    await register();
  } catch (error) {
    console.error(error);
    isBeingKept.value = false;
    cannotGoOffline.value =
      "This browser cannot keep Fieldleaf for use without a network. " +
      "Open it at an address that begins with https, in a current browser and a normal window.";
  }
}

async function register() {
  const { serviceWorker } = navigator;
  let hadVersion = serviceWorker.controller !== null;
  serviceWorker.addEventListener("controllerchange", () => {
    // The very first worker only begins to carry the page that is already open.
    if (hadVersion) location.reload();
    hadVersion = true;
  });
  serviceWorker.ready.then(() => (isBeingKept.value = false));
  const registration = await serviceWorker.register("/field/service-worker.js", {
    scope: "/field/",
  });
  const offer = () => {
    waiting = registration.waiting;
    updateReady.value = waiting !== null && serviceWorker.controller !== null;
  };
  offer();
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", offer);
  });
  effect(() => {
    // The server takes this version no longer: do not wait until the browser looks by itself.
    if (versionTrouble.value === "app") registration.update().catch(console.error);
  });
}

/** The page reloads with the new version. Records and unsent work stay as they are. */
export function useNewVersion() {
  waiting?.postMessage("use-new-version");
}

/** The version whose files this tablet holds; the oldest is in use until a newer one is taken. */
export async function versionCarried() {
  if (!("caches" in globalThis)) return "";
  const name = (await caches.keys()).find((each) => each.startsWith("fieldleaf-"));
  return name?.slice("fieldleaf-".length, "fieldleaf-".length + 8) ?? "";
}
