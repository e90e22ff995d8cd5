/** What the browser cleared from this tablet: what was sent before, and what was not. */

import { Dialog } from "../components/dialog.js";
import { Notice } from "../components/notice.js";
import { UnsentFile } from "../components/sync/unsent-file.js";
import { TopBar } from "../components/top-bar.js";
import { bytes, count, dayAndTime } from "../components/wording.js";
import { groupBy } from "../store/group.js";
import { needsSignIn, session } from "../store/session.js";
import { checkClearings, putAway } from "../sync/clearings.js";
import { clearings } from "../sync/ledger.js";
import { html, useState } from "../vendor/ui.js";

/** @import { Clearing, Unsent } from "../sync/ledger.js" */

export function Cleared() {
  const [all, setAll] = useState(clearings);
  const [isLeaving, setIsLeaving] = useState(false);
  const leave = () => {
    putAway();
    location.hash = "#/visits";
  };
  return html`<div class="screen cleared">
    <${TopBar} title="Cleared by the browser" back="#/visits" />
    <main id="main" class="stack">
      ${all.length === 0 && html`<h2>There is no such list on this device</h2>`}
      ${all.map((clearing) => html`<${OneClearing} key=${clearing.found_at} clearing=${clearing} />`)}
      ${all.length > 0 && html`<${Check} onChecked=${() => setAll(clearings())} />`}
      ${all.some(hasLost) && html`<${WhereToLook} />`}
      <${UnsentFile} />
    </main>
    ${all.length > 0 &&
    html`<footer class="actions">
      <div class="row">
        <button type="button" class="button" onClick=${() => print()}>Print this list</button>
        <button type="button" class="button" onClick=${() => saveAsText(all)}>Save this list</button>
        <button type="button" class="button" onClick=${() => setIsLeaving(true)}>
          Put this list away
        </button>
        ${!session.value && html`<a class="button-next" href="#/sign-in">Sign in</a>`}
      </div>
    </footer>`}
    <${Dialog} title="Put this list away?" open=${isLeaving} onClose=${() => setIsLeaving(false)}>
      <p>It is then no longer on this device. Save or print it first if you still need it.</p>
      <div class="row">
        <button type="button" class="button" onClick=${() => setIsLeaving(false)}>Keep it here</button>
        <button type="button" class="button" onClick=${leave}>Put it away</button>
      </div>
    <//>
  </div>`;
}

/** @param {{clearing: Clearing}} props */
function OneClearing({ clearing: { found_at, sent, unsent, counts } }) {
  const lost = unsent?.filter((item) => !item.arrived) ?? [];
  const arrived = (unsent?.length ?? 0) - lost.length;
  return html`<section class="stack">
    <h2>Found cleared on ${dayAndTime(found_at)}</h2>
    <p>
      The browser has cleared what Fieldleaf kept on this device. Nothing on the server is touched by
      that.
    </p>
    <h3>Sent before, and safe</h3>
    <p class="numeral">${sentInWords(sent)}</p>
    <p>It comes back to this device after you sign in.</p>
    ${arrived > 0 &&
    html`<p class="numeral">
      ${count(arrived, "thing")} noted as not sent ${arrived === 1 ? "has" : "have"} arrived after all:
      the server has ${arrived === 1 ? "it" : "them"}.
    </p>`}
    <h3>Not sent</h3>
    ${unsent === null
      ? html`<${Notice} kind="problem">
          <p>
            The list of what was not sent was cleared as well. All that is known:${" "}
            <strong>${count(counts.changes, "change")} and ${count(counts.photographs, "photograph")}
            </strong>${" "}were not sent when the app was last open.
          </p>
        <//>`
      : lost.length === 0
        ? html`<p>Nothing. All you had recorded is with the server.</p>`
        : html`<p>
              <strong>${lostInWords(lost)}</strong>${" "}${lost.every((item) => item.arrived === false)
                ? "The server was asked and has none of it."
                : "The server is still to be asked whether some of it arrived after all."}
            </p>
            ${[...groupBy(lost, (item) => item.object)].map(
              ([object, items]) => html`<section key=${object}>
                <h4 class="numeral">${object || "A photograph without a record"}</h4>
                <ul class="dashed">
                  ${items.map((item) => html`<li key=${item.kind + item.id}>${itemInWords(item)}</li>`)}
                </ul>
              </section>`,
            )}`}
  </section>`;
}

/** @param {{onChecked: () => void}} props */
function Check({ onChecked }) {
  const [said, setSaid] = useState("");
  const by = session.value;
  if (!by || needsSignIn.value) {
    return html`<p>
      Sign in when there is a network: Fieldleaf then asks the server whether some of it has arrived
      after all. This list stays until you put it away.
    </p>`;
  }
  const check = async () => {
    setSaid("");
    try {
      await checkClearings(by.token);
      setSaid("The server was asked just now.");
      onChecked();
    } catch (error) {
      setSaid(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<div class="stack">
    <button type="button" class="button" onClick=${check}>Ask the server again</button>
    ${said && html`<p role="status">${said}</p>`}
  </div>`;
}

function WhereToLook() {
  return html`<section class="section stack">
    <h2>Where it may still be found</h2>
    <ul class="dashed">
      <li>
        Photographs: in the device's own camera roll or gallery, if the camera app keeps there what
        it takes, and among its recently deleted ones. Choose them again in the examination, under
        the same light.
      </li>
      <li>A file of unsent work, if one was saved or passed on before: it can be taken in by hand.</li>
      <li>Memory and paper: record it anew soon, and say in the notes that it was recorded again.</li>
    </ul>
    <p>
      To guard against it: put Fieldleaf on the home screen, keep some room free, and send often. The
      Sync screen says how.
    </p>
  </section>`;
}

/** @param {Clearing} clearing */
function hasLost({ unsent }) {
  return unsent === null || unsent.some((item) => !item.arrived);
}

/** @param {Clearing["sent"]} sent */
function sentInWords({ changes, photographs, last }) {
  if (!last) return "Nothing had been sent from this device.";
  return (
    `${count(changes, "change")} and ${count(photographs, "photograph")}, ` +
    `the last on ${dayAndTime(last)}.`
  );
}

/** @param {Unsent[]} lost */
function lostInWords(lost) {
  const files = lost.filter((item) => item.kind === "photograph");
  const changes = lost.length - files.length;
  const size = files.reduce((sum, file) => sum + (file.size_bytes ?? 0), 0);
  const parts = [
    changes && count(changes, "change"),
    files.length && `${count(files.length, "photograph")} (${bytes(size)})`,
  ];
  return `${parts.filter(Boolean).join(" and ")}.`;
}

/** @param {Unsent} item */
function itemInWords({ what, when, person, size_bytes }) {
  const parts = [what, size_bytes && bytes(size_bytes), when && dayAndTime(when), person];
  return parts.filter(Boolean).join(", ");
}

/** @param {Clearing[]} all */
function saveAsText(all) {
  const lines = all.flatMap(({ found_at, sent, unsent, counts }) => [
    `Found cleared on ${dayAndTime(found_at)}`,
    `Sent before: ${sentInWords(sent)}`,
    ...(unsent === null
      ? [`Not sent: ${count(counts.changes, "change")}, ${count(counts.photographs, "photograph")}`]
      : unsent.map((item) =>
          [item.arrived ? "Arrived after all" : "Not sent", item.object, itemInWords(item)].join(": "),
        )),
    "",
  ]);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([lines.join("\n")], { type: "text/plain" }));
  link.download = "fieldleaf-cleared.txt";
  link.click();
  URL.revokeObjectURL(link.href);
}
