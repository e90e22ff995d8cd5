/** Starts the app: who works here, which screen, and then, in the background, the rest. */

import { Notice } from "./components/notice.js";
import { currentRoute, FIRST_SCREEN, parse, showCurrent, shown } from "./router.js";
import { saveTrouble } from "./store/durable.js";
import { lastRoute, rememberRoute } from "./store/place.js";
import "./store/preferences.js";
import { restore, session } from "./store/session.js";
import { cannotGoOffline, updateReady, useNewVersion, watchForUpdates } from "./store/updates.js";
import { restoreVocabulary } from "./store/vocabulary.js";
import { html, render, useEffect, useErrorBoundary } from "./vendor/ui.js";

/** Screens that need no sign-in. */
const OPEN_TO_ALL = ["sign-in", "guide"];

function App() {
  if (!shown.value) return null;
  const { Screen, props, route } = shown.value;
  const screen = route.split("?")[0];
  return html`
    <${Messages} />
    <${Framed} key=${screen}><${Screen} ...${props} /><//>
  `;
}

/** What concerns every screen: a write that failed, no use offline, a new version that waits. */
function Messages() {
  return html`<div class="messages">
    ${saveTrouble.value && html`<${Notice} kind="problem"><p>${saveTrouble.value}</p><//>`}
    ${cannotGoOffline.value && html`<${Notice} kind="problem"><p>${cannotGoOffline.value}</p><//>`}
    ${updateReady.value &&
    html`<${Notice}>
      <p>A new version of Fieldleaf is ready. Your work stays as it is.</p>
      <button type="button" class="button" onClick=${useNewVersion}>Use the new version</button>
    <//>`}
  </div>`;
}

/** Puts the reader at the head of a screen that was just opened, and stands in if it fails. */
function Framed(/** @type {{children?: import("./vendor/ui.js").ComponentChildren}} */ { children }) {
  const [failure, tryAgain] = useErrorBoundary((error) => console.error(error));
  useEffect(() => {
    scrollTo(0, 0);
    const heading = document.querySelector("h1");
    // A field that a screen has put the person back into keeps the focus.
    if (!document.activeElement?.closest("#app")) heading?.focus({ preventScroll: true });
  }, []);
  if (!failure) return children;
  return html`<main id="main">
    <h1 tabindex="-1">This screen could not be shown</h1>
    <p>Everything saved before is still on this tablet. (${String(failure?.message ?? failure)})</p>
    <p><button type="button" class="button" onClick=${tryAgain}>Try again</button></p>
    <p><a class="button" href=${`#${FIRST_SCREEN}`}>My visits</a></p>
  </main>`;
}

async function follow() {
  const route = currentRoute();
  if (!session.value && !OPEN_TO_ALL.includes(parse(route).name)) {
    location.replace("#/sign-in");
    return;
  }
  await showCurrent();
  if (session.value) rememberRoute(route);
}

async function start() {
  history.scrollRestoration = "manual";
  const [route] = await Promise.all([lastRoute(), restore(), restoreVocabulary()]);
  addEventListener("hashchange", follow);
  if (currentRoute()) await follow();
  else location.replace(`#${route ?? FIRST_SCREEN}`);
  const app = /** @type {HTMLElement} */ (document.getElementById("app"));
  app.replaceChildren();
  render(html`<${App} />`, app);
  // Only when the screen is up and the device has nothing else to do.
  whenIdle(() => import("./sync/engine.js").then(({ startSync }) => startSync()));
  whenIdle(() => watchForUpdates());
}

/** @param {() => void} work */
function whenIdle(work) {
  if ("requestIdleCallback" in window) requestIdleCallback(work, { timeout: 3000 });
  else setTimeout(work, 1000);
}

start().catch((error) => {
  console.error(error);
  const words = document.createElement("p");
  words.className = "opening";
  words.setAttribute("role", "alert");
  words.textContent =
    `Fieldleaf could not open its storage on this device (${error.name}). Use a normal window of a ` +
    "current browser, allow this site to keep data, and open Fieldleaf again.";
  document.getElementById("app")?.replaceChildren(words);
});
