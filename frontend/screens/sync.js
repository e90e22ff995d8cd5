/** The sync line opened up: what is saved here, what waits, what was sent, what needs you. */

import { Notice } from "../components/notice.js";
import { mustSignIn, stateToTell, StateShape } from "../components/sync-line.js";
import { stateInASentence, stateInWords, waitingInWords } from "../components/sync-words.js";
import { TopBar } from "../components/top-bar.js";
import { bytes, count, dayAndTime } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { askToPersist, freeSent } from "../store/space.js";
import { syncNow } from "../sync/engine.js";
import { syncState } from "../sync/state.js";
import { html, useState } from "../vendor/ui.js";
import { NeedsYou } from "./needs-you.js";

export function Sync() {
  const state = stateToTell();
  const { shape, word } = stateInWords(state, mustSignIn());
  return html`<div class="screen">
    <${TopBar} title="Sync" back="#/visits" />
    <main id="main">
      <div class="sync-now">
        <${StateShape} shape=${shape} />
        <div>
          <h2 class="big-word">${word}</h2>
          <p>${stateInASentence(state, mustSignIn())}</p>
        </div>
      </div>
      ${state.progress &&
      html`<p class="section numeral">${count(state.progress.done, "record")} received so far</p>`}
      <dl class="sync-steps">
        <div>
          <dt>Waiting to send</dt>
          <dd class="numeral">${waitingInWords(state) || "Nothing"}</dd>
        </div>
        <div>
          <dt>Last sent</dt>
          <dd class="numeral">${state.lastSentAt ? dayAndTime(state.lastSentAt) : "Not yet"}</dd>
        </div>
        <div>
          <dt>Network</dt>
          <dd class="numeral">${state.online ? "Connected" : "None just now"}</dd>
        </div>
      </dl>
      ${state.problem && html`<div class="section"><${Notice} kind="problem">${state.problem}</${Notice}></div>`}
      ${state.needsYou.length > 0 &&
      html`<section class="section">
        <h2>Needs you</h2>
        <${NeedsYou} matters=${state.needsYou} />
      </section>`}
      <${Keeping} persisted=${state.persisted} />
      <${Space} usage=${state.usage} quota=${state.quota} />
    </main>
    <footer class="actions">
      <div class="row">
        ${mustSignIn()
          ? html`<a class="button-next" href="#/sign-in">Sign in again</a>`
          : html`<button
              type="button"
              class="button-next"
              disabled=${state.busy}
              onClick=${() => syncNow()}
            >
              ${state.busy ? "Under way…" : "Send now"}
            </button>`}
      </div>
    </footer>
  </div>`;
}

/** A bar beside words that say the same. */
function Bar(/** @type {{share: number}} */ { share }) {
  const percent = Math.min(100, Math.max(0, share * 100));
  return html`<div class="bar" aria-hidden="true"><span style=${{ width: `${percent}%` }}></span></div>`;
}

/** Whether the browser promised not to clear what is kept here. */
function Keeping(/** @type {{persisted: boolean | null}} */ { persisted }) {
  const [asked, setAsked] = useState(false);
  const ask = async () => {
    const granted = await askToPersist();
    syncState.value = { ...syncState.value, persisted: granted };
    setAsked(true);
  };
  return html`<section class="section stack">
    <h2>Kept on this tablet</h2>
    ${persisted === true &&
    html`<p>The browser has promised to keep this app's records until you remove them.</p>`}
    ${persisted === false &&
    html`<p>
        The browser has <strong>not</strong> promised to keep this app's records. If the tablet runs
        short of room it may clear them, sent or not.
      </p>
      <p>
        Install Fieldleaf from the browser's menu (“Add to home screen”), then ask again. Until
        then, send often and keep some room free.
      </p>
      <button type="button" class="button" onClick=${ask}>Ask the browser again</button>
      ${asked && html`<p role="status">Asked. The browser still says no.</p>`}`}
    ${persisted === null &&
    html`<p>
      This browser does not say whether it keeps records for good. Send often, and do not clear its
      website data while something waits.
    </p>`}
  </section>`;
}

function Space(/** @type {{usage: number, quota: number}} */ { usage, quota }) {
  const [freed, setFreed] = useState("");
  const sent = useLive(sentOriginals, [], { files: 0, size: 0 });
  const free = async () => {
    try {
      const size = await freeSent();
      setFreed(`${bytes(size)} given back. The thumbnails stay here.`);
    } catch (error) {
      setFreed(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<section class="section stack">
    <h2>Room</h2>
    ${quota > 0 &&
    html`<div>
      <p class="numeral">${bytes(usage)} used of about ${bytes(quota)} that the browser allows</p>
      <${Bar} share=${usage / quota} />
    </div>`}
    ${sent.files > 0
      ? html`<p>
            ${count(sent.files, "original photograph")}, ${bytes(sent.size)}, ${sent.files === 1 ? "is" : "are"} sent,
            checked by the server, and still kept here as well.
          </p>
          <button type="button" class="button" onClick=${free}>
            Free ${bytes(sent.size)}: drop sent originals
          </button>`
      : html`<p class="soft">No sent original takes up room here.</p>`}
    ${freed && html`<p role="status">${freed}</p>`}
  </section>`;
}

/** Originals that the server has verified and that still take up room here; size in bytes. */
async function sentOriginals() {
  let files = 0;
  let size = 0;
  await db.originals
    .filter((original) => original.sent === 1 && original.blob !== null)
    .each((original) => {
      files += 1;
      size += original.size_bytes;
    });
  return { files, size };
}
