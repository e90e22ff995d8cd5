/** In the place of a loan whose pass is at its end: what is not sent, and what was taken off. */

import { deviceWord } from "../../store/device-name.js";
import { useLive } from "../../store/live.js";
import { askAgain, clearAway } from "../../store/loans/pass.js";
import { session } from "../../store/session.js";
import { countUnsent } from "../../sync/unsent-file.js";
import { html, useEffect, useState } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { UnsentFile } from "../sync/unsent-file.js";
import { dayAndTime } from "../wording.js";

/** @param {{end: import("../../store/types.js").PassEnd}} props */
export function Ended({ end }) {
  const unsent = useLive(countUnsent, [], null);
  const [problem, setProblem] = useState("");
  const [busy, setBusy] = useState(false);
  const isHere = session.value !== null;
  const waits = unsent ? unsent.changes + unsent.photographs : null;
  const word = deviceWord();
  useEffect(() => {
    if (isHere && waits === 0) clearAway().catch((error) => setProblem(error.message));
  }, [isHere, waits]);

  const ask = async () => {
    setBusy(true);
    setProblem("");
    try {
      const holds = await askAgain();
      if (holds) location.replace(`#/loan/${session.value?.loan}`);
      else setProblem(`It stays closed. ${end.said}`);
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    } finally {
      setBusy(false);
    }
  };

  return html`<div class="screen">
    <main id="main" class="stack">
      <h1 tabindex="-1" class="page-title">
        ${end.why === "over" ? "This pass is over" : "This pass was withdrawn"}
      </h1>
      ${end.had && html`<p><strong>${end.had}</strong></p>`}
      <p>
        ${end.why === "over"
          ? `It ended on ${dayAndTime(end.at)}.`
          : "The museum that gave it has ended it before its time."}
        ${" "}Ask whoever gave it to you if you still need the loan.
      </p>
      ${!isHere &&
      html`<p>
        All that you recorded is with the museum. The loan’s records and pictures were taken off this
        ${" "}${word}.
      </p>`}
      ${isHere &&
      waits !== null &&
      waits > 0 &&
      html`<${Notice} kind="problem">
          <p><strong>Not all that you recorded is sent.</strong></p>
          <p>
            Nothing of it is lost: it stays on this ${word}. Save it to a file below and give the file
            to the museum. The rest of the loan is taken off once all is sent.
          </p>
        <//>
        <${UnsentFile} />`}
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
    </main>
    <footer class="actions">
      <div class="row">
        <a class="button" href="#/sign-in">I have an account</a>
        ${isHere &&
        html`<button type="button" class="button" disabled=${busy} onClick=${ask}>
          ${busy ? "Asking…" : "Ask the museum’s server again"}
        </button>`}
      </div>
    </footer>
  </div>`;
}
