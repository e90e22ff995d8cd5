/** A courier's pass: opening it on this device, and what is left of it at its end. */

import { lazy } from "../components/lazy.js";
import { Notice } from "../components/notice.js";
import { Ended } from "../components/loan/pass-ended.js";
import { isInstalled } from "../components/sync/keeping.js";
import { TextField } from "../components/text-field.js";
import { count } from "../components/wording.js";
import { deviceName, deviceWord } from "../store/device-name.js";
import { useLive } from "../store/live.js";
import { isRefused, keepPass, openKept, passIn, passToOpen, putAway, watchEnd } from "../store/loans/pass.js";
import { passEnd, session } from "../store/session.js";
import { askToPersist } from "../store/space.js";
import { syncState } from "../sync/state.js";
import { countUnsent } from "../sync/unsent-file.js";
import { html, useEffect, useState } from "../vendor/ui.js";

const Scanner = lazy(async () => (await import("../components/scanner.js")).Scanner);

/** @param {{id?: string}} props  the pass, while it stands in the address */
export function Pass({ id }) {
  // undefined while it is read
  const [pass, setPass] = useState(/** @type {string | null | undefined} */ (undefined));
  useEffect(() => {
    take(id).then(setPass);
  }, [id]);
  const loan = session.value?.loan;
  useEffect(() => {
    if (pass === null && loan && !passEnd.value) location.replace(`#/loan/${loan}`);
  }, [pass, loan]);

  if (pass === undefined) return html`<div class="screen"><main id="main" aria-busy="true"></main></div>`;
  if (pass) return html`<${ToOpen} pass=${pass} onAway=${() => setPass(null)} />`;
  if (passEnd.value) return html`<${Ended} end=${passEnd.value} />`;
  return html`<${NoPass} onPass=${setPass} />`;
}

/**
 * Keeps the pass that stands in the address, and takes it out of there: addresses are remembered
 * by browsers, and seen by whoever looks over a shoulder.
 *
 * @param {string | undefined} id
 * @returns {Promise<string | null>}  the pass that is to be opened
 */
async function take(id) {
  const found = id && passIn(id);
  if (found) await keepPass(found);
  if (id !== undefined) history.replaceState(history.state, "", "#/pass");
  return passToOpen();
}

/** @param {{pass: string, onAway: () => void}} props */
function ToOpen({ pass, onAway }) {
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState("");
  const [isClosed, setIsClosed] = useState(false);
  const by = session.value;
  const unsent = useLive(countUnsent, [], null);
  const waits = unsent ? unsent.changes + unsent.photographs > 0 : null;
  const word = deviceWord();

  const open = async () => {
    setBusy(true);
    setProblem("");
    try {
      const loan = await openKept(await deviceName());
      syncState.value = { ...syncState.value, persisted: await askToPersist() };
      await watchEnd();
      location.replace(`#/loan/${loan}`);
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
      setIsClosed(isRefused(error));
      setBusy(false);
    }
  };
  const leave = async () => {
    await putAway(pass);
    if (by && !by.loan) location.replace("#/visits");
    else onAway();
  };

  return html`<div class="screen">
    <main id="main" class="stack">
      <h1 tabindex="-1" class="page-title">A courier’s pass</h1>
      <p>
        It opens one loan on this ${word}: its objects, their last recorded state with pictures, and
        the conditions that were agreed. You need no account.
      </p>
      ${by && !busy && html`<${WhoIsHere} by=${by} unsent=${unsent} />`}
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
      ${needsHomeScreen() && html`<${HomeScreenFirst} pass=${pass} />`}
      <h2>What happens next</h2>
      <ol class="numbered">
        <li>
          Open it now, while there is a network. From then on it opens on this ${word} and on no
          other.
        </li>
        <li>
          The records and pictures come onto this ${word}. Keep the network until you read “All of
          it is on this ${word}”.
        </li>
        <li>
          At the crate you need no network. What you record is saved here at once, and sent when
          there is a network again.
        </li>
        <li>The pass ends with the loan. What is sent by then is taken off this ${word}.</li>
      </ol>
    </main>
    <footer class="actions">
      <div class="row">
        <button type="button" class="button" disabled=${busy} onClick=${leave}>
          ${isClosed ? "Close" : "Not here"}
        </button>
        ${isClosed
          ? null
          : by && waits
          ? html`<a class="button-next" href="#/sync">Send first</a>`
          : html`<button type="button" class="button-next" disabled=${busy || waits === null} onClick=${open}>
              ${busy ? "Opening…" : problem ? "Try again" : "Open the loan here"}
            </button>`}
      </div>
    </footer>
  </div>`;
}

/** Somebody works on this device already. */
function WhoIsHere(
  /** @type {{by: import("../store/types.js").Session, unsent: Awaited<ReturnType<typeof countUnsent>> | null}} */ {
    by,
    unsent,
  },
) {
  const name = by.person.name;
  if (!unsent) return null;
  if (unsent.changes + unsent.photographs > 0) {
    const waiting = [
      unsent.changes && count(unsent.changes, "change"),
      unsent.photographs && count(unsent.photographs, "photograph"),
    ];
    return html`<${Notice} kind="problem">
      <p>
        <strong>
          ${name} works on this device, and not all is sent yet: ${waiting.filter(Boolean).join(" and ")}.
        </strong>
      </p>
      <p>
        Nothing of it is touched. Send it first, or save it to a file; then open the pass again from
        its link or code.
      </p>
      <p><a class="button" href="#/unsent">Save unsent work to a file</a></p>
    <//>`;
  }
  return html`<${Notice}>
    <p>
      ${by.loan
        ? `Another pass is open on this device, for ${name}. Opening this one takes its place here.`
        : `${name} is signed in on this device. Opening the pass signs ${name} out here; all of ` +
          "that work is sent."}
    </p>
  <//>`;
}

/** Safari names it on the tablets and phones whose home screen has stores of its own. */
function needsHomeScreen() {
  return "standalone" in navigator && !isInstalled();
}

/**
 * Safari keeps what a page stored for seven days of use without a visit, but for apps on the home
 * screen, which have a store of their own (WebKit, "Full Third-Party Cookie Blocking and More",
 * 2020). A pass that was opened in the browser would not open there again.
 */
function HomeScreenFirst(/** @type {{pass: string}} */ { pass }) {
  const [said, setSaid] = useState("");
  const copy = () =>
    navigator.clipboard.writeText(pass).then(
      () => setSaid("Copied."),
      () => setSaid("It could not be copied. Scan the pass’s code there instead."),
    );
  return html`<section class="inset stack" aria-label="First the home screen">
    <p>
      <strong>First put Fieldleaf on the home screen.</strong> Safari may clear what a page keeps
      when it is not opened for some days. What an app on the home screen keeps, stays.
    </p>
    <ol class="numbered">
      <li>Copy the pass.</li>
      <li>Tap the share button (a square with an arrow), then “Add to Home Screen”.</li>
      <li>Open Fieldleaf from there, tap “I have a courier’s pass”, and paste it.</li>
    </ol>
    <button type="button" class="button" onClick=${copy}>Copy the pass</button>
    ${said && html`<p role="status">${said}</p>`}
    <p class="soft small">
      If you check the loan today, you can open it here as well. It then stays in this browser.
    </p>
  </section>`;
}

/** Nothing was opened here: the pass may be on paper, or copied. */
function NoPass(/** @type {{onPass: (pass: string | null) => void}} */ { onPass }) {
  const [isScanning, setIsScanning] = useState(false);
  const [text, setText] = useState("");
  const [problem, setProblem] = useState("");
  const read = async (/** @type {string} */ said) => {
    setIsScanning(false);
    const found = passIn(said);
    if (!found) {
      return setProblem(
        "This is not a courier’s pass. Scan the code on the sheet that the registrar gave you, or " +
          "paste the whole link.",
      );
    }
    await keepPass(found);
    return onPass(await passToOpen());
  };
  return html`<div class="screen">
    <main id="main" class="stack">
      <h1 tabindex="-1" class="page-title">A courier’s pass</h1>
      <p>
        The registrar of the loan gives it to you as a code to scan or as a link. It opens that loan
        on this ${deviceWord()}, and you need no account.
      </p>
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
      ${isScanning && html`<${Scanner} onRead=${read} />`}
      <button type="button" class="button big" onClick=${() => setIsScanning(!isScanning)}>
        ${isScanning ? "Stop scanning" : "Scan the code"}
      </button>
      <${TextField}
        label="Or paste the link"
        value=${text}
        onInput=${setText}
        autocomplete="off"
      />
    </main>
    <footer class="actions">
      <div class="row">
        <a class="button" href="#/sign-in">I have an account</a>
        <button type="button" class="button-next" onClick=${() => read(text)}>Go on</button>
      </div>
    </footer>
  </div>`;
}
