/** Offers a new version of the app, and changes to it only when the person says so. */

import { signal } from "../vendor/ui.js";

/** True when a new version is on the tablet and waits. */
export const updateReady = signal(false);

/** @type {ServiceWorker | null} */
let waiting = null;

/** Registers the service worker, which carries the app's files for use without a network. */
export async function watchForUpdates() {
  if (!("serviceWorker" in navigator)) return;
  const hadVersion = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    // The very first worker only begins to carry the page that is already open.
    if (hadVersion) location.reload();
  });
  const registration = await navigator.serviceWorker.register("/field/service-worker.js", {
    scope: "/field/",
  });
  const offer = () => {
    waiting = registration.waiting;
    updateReady.value = waiting !== null && navigator.serviceWorker.controller !== null;
  };
  offer();
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", offer);
  });
}

/** The page reloads with the new version. Records and unsent work stay as they are. */
export function useNewVersion() {
  waiting?.postMessage("use-new-version");
}
