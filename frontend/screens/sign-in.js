/** Signing in: once with a network; after that the tablet works alone. */

import { LightFigure } from "../components/light-figure.js";
import { Notice } from "../components/notice.js";
import { TextField } from "../components/text-field.js";
import { db, writeSetting } from "../store/database.js";
import { deviceName as keptName, guessedName } from "../store/device-name.js";
import { useLive } from "../store/live.js";
import { ServerTrouble } from "../store/server.js";
import { needsSignIn, session, signIn } from "../store/session.js";
import { html, useEffect, useState } from "../vendor/ui.js";

const LIGHTS = ["normal", "raking", "transmitted", "specular", "ultraviolet"];

export function SignIn() {
  const known = session.value?.person;
  const [username, setUsername] = useState(known?.username ?? "");
  const [password, setPassword] = useState("");
  const [shown, setShown] = useState(false);
  const [deviceName, setDeviceName] = useState("");
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState("");
  useEffect(() => {
    keptName().then((name) => setDeviceName((typed) => typed || name));
  }, []);

  const submit = async (/** @type {Event} */ event) => {
    event.preventDefault();
    if (!username.trim() || !password) {
      setProblem("Write the name you sign in with and your password.");
      return;
    }
    setBusy(true);
    setProblem("");
    try {
      const device_name = deviceName.trim() || guessedName();
      await signIn({ username: username.trim(), password, device_name });
      await writeSetting("device_name", device_name);
      location.hash = "#/visits";
    } catch (error) {
      setProblem(sentenceFor(error));
      setBusy(false);
    }
  };

  return html`<div class="screen sign-in">
    <main id="main">
      <div class="sign-in-head">
        <h1>Fieldleaf</h1>
        <p>Examine works on paper under five lights, with a network or without.</p>
        <p class="sign-in-lights">
          ${LIGHTS.map((light) => html`<${LightFigure} light=${light} size=${44} />`)}
        </p>
      </div>
      <form class="stack" id="sign-in" onSubmit=${submit}>
        ${needsSignIn.value && known && html`<${SignedOutNotice} name=${known.name} />`}
        ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
        <${TextField}
          label="Name you sign in with"
          value=${username}
          onInput=${setUsername}
          autocomplete="username"
        />
        <div class="sign-in-password">
          <${TextField}
            label="Password"
            type=${shown ? "text" : "password"}
            value=${password}
            onInput=${setPassword}
            autocomplete="current-password"
          />
          <button
            type="button"
            class="button"
            aria-pressed=${shown}
            onClick=${() => setShown(!shown)}
          >
            ${shown ? "Hide" : "Show"}<span class="visually-hidden"> password</span>
          </button>
        </div>
        <${TextField}
          label="Name of this device"
          value=${deviceName}
          onInput=${setDeviceName}
          hint="So that its work can be told from that of others."
        />
      </form>
      <${Unsent} />
    </main>
    <footer class="actions">
      <div class="row">
        ${known && html`<a class="button" href="#/visits">Go on without signing in</a>`}
        ${!known && html`<a class="button" href="#/pass">I have a courier’s pass</a>`}
        <button type="submit" form="sign-in" class="button-next" disabled=${busy}>
          ${busy ? "Signing in…" : "Sign in"}
        </button>
      </div>
    </footer>
  </div>`;
}

/** Work that still lies here, and a way to carry it off without a sign-in. */
function Unsent() {
  const waiting = useLive(() => db.outbox.count(), [], 0);
  if (waiting === 0) return null;
  return html`<div class="section stack">
    <p class="soft">Some work on this device is not sent yet. It goes when its author signs in.</p>
    <a class="button" href="#/unsent">Save unsent work to a file</a>
  </div>`;
}

function SignedOutNotice(/** @type {{name: string}} */ { name }) {
  return html`<${Notice}>
    <p>The sign-in of ${name} on this device has ended. Nothing is lost.</p>
    <p>You can go on working. What you record is kept here and is sent after you sign in again.</p>
  </${Notice}>`;
}

function sentenceFor(/** @type {unknown} */ error) {
  if (error instanceof ServerTrouble && error.kind === "no-network") {
    return `${error.message} Signing in needs it once: connect to the network, then try again.`;
  }
  return error instanceof Error ? error.message : String(error);
}
