/**
 * Whether the browser promised not to clear what is kept here, and how to get its promise.
 *
 * Sources: WHATWG Storage Standard (a persistent bucket is not cleared without the person's
 * consent); WebKit, "Updates to Storage Policy", 2023, and "Full Third-Party Cookie Blocking and
 * More", 2020 (storage written by a page goes after seven days of use without a visit; an app on
 * the home screen is not counted among those); MDN, "Storage quotas and eviction criteria".
 */

import { askToPersist } from "../../store/space.js";
import { syncState } from "../../sync/state.js";
import { html, useState } from "../../vendor/ui.js";

/** Whether it runs from the home screen already, in a window of its own. */
export const isInstalled = () => matchMedia("(display-mode: standalone)").matches;

export function Keeping() {
  const { persisted } = syncState.value;
  const [asked, setAsked] = useState(false);
  const ask = async () => {
    const granted = await askToPersist();
    syncState.value = { ...syncState.value, persisted: granted };
    setAsked(true);
  };
  if (persisted === true) {
    return html`<section class="section stack">
      <h2>Kept on this device</h2>
      <p>The browser has promised to keep this app's records until you remove them.</p>
    </section>`;
  }
  return html`<section class="section stack">
    <h2>Kept on this device</h2>
    ${persisted === false
      ? html`<p>
          The browser has <strong>not</strong> promised to keep this app's records. If the device
          runs short of room, or if Fieldleaf is not opened for some time, it may clear them, sent
          or not.
        </p>`
      : html`<p>
          This browser does not say whether it keeps records for good. Send often, and do not clear
          its website data while something waits.
        </p>`}
    ${isInstalled()
      ? html`<p>
          Fieldleaf is on the home screen already, which is the best protection there is. Keep some
          room free, and send often.
        </p>`
      : html`<${HowToInstall} />`}
    <button type="button" class="button" onClick=${ask}>Ask the browser again</button>
    ${asked && html`<p role="status">Asked. The browser does not promise it yet.</p>`}
  </section>`;
}

function HowToInstall() {
  return html`<div class="stack">
    <h3>Put Fieldleaf on the home screen</h3>
    <p>
      Browsers keep what belongs to an app on the home screen longer, or for good. Send first what
      waits: on some tablets the app on the home screen begins with a store of its own, and you sign
      in there once more.
    </p>
    <ul class="dashed">
      <li>
        Where the browser has a share button (a square with an arrow): tap it, then “Add to Home
        Screen”.
      </li>
      <li>
        Where the browser has a menu of three dots or lines: open it, then “Install app” or “Add to
        home screen”.
      </li>
      <li>On a laptop: the install sign at the end of the address line, or the browser's menu.</li>
    </ul>
    <p>Then open Fieldleaf from there, and from there only.</p>
  </div>`;
}
