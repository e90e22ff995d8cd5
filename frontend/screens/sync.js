/** The sync line opened up: what is saved here, what waits, what was sent, what needs you. */

import { Notice } from "../components/notice.js";
import { mustSignIn, stateToTell, StateShape } from "../components/sync-line.js";
import { stateInASentence, stateInWords, waitingInWords } from "../components/sync-words.js";
import { HoldingChoice } from "../components/sync/holding-choice.js";
import { Keeping } from "../components/sync/keeping.js";
import { PhotographsWaiting } from "../components/sync/photographs-waiting.js";
import { Room } from "../components/sync/room.js";
import { UnsentFile } from "../components/sync/unsent-file.js";
import { TopBar } from "../components/top-bar.js";
import { count, dayAndTime } from "../components/wording.js";
import { syncNow } from "../sync/engine.js";
import { html } from "../vendor/ui.js";
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
      <${PhotographsWaiting} />
      <${HoldingChoice} />
      <${UnsentFile} />
      <${Room} />
      <${Keeping} />
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
