/** Starts the app: who works here, which screen, and then, in the background, the rest. */

import { Notice } from "./components/notice.js";
import { currentRoute, firstScreen, parse, showCurrent, shown } from "./router.js";
import { hasCleared, noticeClearing } from "./sync/cleared.js";
import { saveTrouble } from "./store/durable.js";
import { lastRoute, rememberRoute } from "./store/place.js";
import "./store/preferences.js";
import { otherVersion } from "./store/other-versions.js";
import { versionTrouble } from "./store/server.js";
import { passEnd, restore, session } from "./store/session.js";
import { cannotGoOffline, updateReady, useNewVersion, watchForUpdates } from "./store/updates.js";
import { restoreVocabulary } from "./store/vocabulary.js";
import { effect, html, render, useEffect, useErrorBoundary } from "./vendor/ui.js";

/** Screens that need no sign-in, and no courier's pass that still holds. */
const OPEN_TO_ALL = ["sign-in", "pass", "guide", "unsent", "cleared"];

function App() {
  if (!shown.value) return null;
  const { Screen, props, route } = shown.value;
  const screen = route.split("?")[0];
  return html`
    <${Messages} />
    <${Framed} key=${screen}><${Screen} ...${props} /><//>
  `;
}

/**
 * What concerns every screen: a write that failed, work that the browser cleared, no use
 * offline, a new version that waits.
 */
function Messages() {
  return html`<div class="messages">
    ${saveTrouble.value &&
    html`<${Notice} kind="problem">
      <p>${saveTrouble.value}</p>
      <p><a class="button" href="#/unsent">Save unsent work to a file</a></p>
    <//>`}
    ${hasCleared.value &&
    shown.value?.route !== "/cleared" &&
    html`<${Notice} kind="problem">
      <p>The browser has cleared what was kept on this device.</p>
      <p><a class="button" href="#/cleared">See what was sent and what was not</a></p>
    <//>`}
    ${cannotGoOffline.value && html`<${Notice} kind="problem"><p>${cannotGoOffline.value}</p><//>`}
    <${Versions} />
  </div>`;
}

/** A new version that waits, and whatever does not fit together: windows, app and server. */
function Versions() {
  const words = otherVersion.value
    ? OTHER_VERSION[otherVersion.value]
    : versionTrouble.value && VERSION_TROUBLE[versionTrouble.value];
  return html`${words && html`<${Notice} kind="problem"><p>${words}</p>${
    otherVersion.value === "replaced" && !updateReady.value &&
    html`<button type="button" class="button" onClick=${() => location.reload()}>
      Load Fieldleaf again
    </button>`
  }<//>`}
  ${updateReady.value &&
  html`<${Notice}>
    <p>A new version of Fieldleaf is ready. Your work stays as it is.</p>
    <button type="button" class="button" onClick=${useNewVersion}>Use the new version</button>
  <//>`}`;
}

const OTHER_VERSION = {
  replaced:
    "A newer Fieldleaf was opened on this device, in another window. All that was saved is kept. " +
    "This window saves nothing more: load it again.",
  "too-old":
    "The records on this device belong to a newer Fieldleaf than this one. All of them are kept, " +
    "sent or not, and this older one leaves them alone. Connect to the network and open Fieldleaf " +
    "again to get the newer version; if none comes, tell whoever looks after the server.",
  waiting:
    "Fieldleaf is open in another window, which still uses the older version. Close that window, " +
    "and this one goes on by itself. All that was saved is kept.",
};
const VERSION_TROUBLE = {
  app:
    "This device's Fieldleaf is too old for the server. Your work is kept here. Use the new " +
    "version, and it is sent; if none is offered below, open Fieldleaf again while connected.",
  server:
    "The server is older than this app, so nothing can be sent yet. Your work is kept here. Tell " +
    "whoever looks after the server to bring it up to date.",
};

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
    <p>Everything saved before is still on this device. (${String(failure?.message ?? failure)})</p>
    <p><button type="button" class="button" onClick=${tryAgain}>Try again</button></p>
    <p><a class="button" href=${`#${firstScreen()}`}>
      ${session.value?.loan ? "The loan" : "My visits"}
    </a></p>
    <p><a class="button" href="#/unsent">Save unsent work to a file</a></p>
  </main>`;
}

async function follow() {
  const route = currentRoute();
  const { name } = parse(route);
  const isOut = !session.value || (session.value.loan && passEnd.value);
  if (isOut && !OPEN_TO_ALL.includes(name)) {
    location.replace(passEnd.value ? "#/pass" : "#/sign-in");
    return;
  }
  await showCurrent();
  // The address of a pass is a secret, and leads nowhere twice.
  if (session.value && !["cleared", "pass"].includes(name)) rememberRoute(route);
}

async function start() {
  history.scrollRestoration = "manual";
  const [route, isCleared] = await Promise.all([
    lastRoute(),
    noticeClearing(),
    restore(),
    restoreVocabulary(),
  ]);
  if (session.value?.loan) await (await import("./store/loans/pass.js")).watchEnd();
  addEventListener("hashchange", follow);
  effect(() => {
    if (session.value?.loan && passEnd.value) follow();
  });
  if (isCleared) location.replace("#/cleared");
  else if (currentRoute()) await follow();
  else location.replace(`#${route ?? firstScreen()}`);
  const app = /** @type {HTMLElement} */ (document.getElementById("app"));
  render(null, app);
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

// The database may have to wait for another window before there is any screen.
const stopTelling = effect(() => {
  if (otherVersion.value === "waiting" && !shown.value) showMessagesAlone();
});

function showMessagesAlone() {
  render(html`<${Messages} />`, /** @type {HTMLElement} */ (document.getElementById("app")));
}

start().then(stopTelling).catch((error) => {
  console.error(error);
  if (otherVersion.value) {
    showMessagesAlone();
    // The newer version may be on the tablet already.
    watchForUpdates();
    return;
  }
  const words = document.createElement("p");
  words.className = "opening";
  words.setAttribute("role", "alert");
  words.textContent =
    `Fieldleaf could not open its storage on this device (${error.name}). Use a normal window of a ` +
    "current browser, allow this site to keep data, and open Fieldleaf again.";
  document.getElementById("app")?.replaceChildren(words);
});
