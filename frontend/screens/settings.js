/** How the app looks, which hand holds it, what it carries, and who is signed in. */

import { Choice } from "../components/choice.js";
import { Dialog } from "../components/dialog.js";
import { readMinutes } from "../components/examine/numbers.js";
import { LocationSteps } from "../components/location-steps.js";
import { Notice } from "../components/notice.js";
import { waitingInWords } from "../components/sync-words.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { count, day, dayAndTime, grouped } from "../components/wording.js";
import { db, readSetting, writeSetting } from "../store/database.js";
import { useLive } from "../store/live.js";
import { endHere } from "../store/loans/pass.js";
import { usePlaces } from "../store/locations.js";
import { handed, LAMP_LIMIT_MIN, lampLimit, look } from "../store/preferences.js";
import { session, signOut } from "../store/session.js";
import { versionCarried } from "../store/updates.js";
import { vocabulary } from "../store/vocabulary.js";
import { syncNow } from "../sync/engine.js";
import { syncState } from "../sync/state.js";
import { carry } from "../sync/scope.js";
import { html, useEffect, useState } from "../vendor/ui.js";

export function Settings() {
  return html`<div class="screen">
    <${TopBar} title="Settings" back="#/visits" />
    <main id="main">
      <${Choice}
        label="Look"
        name="look"
        options=${[
          { value: "light", label: "Light", hint: "For the lab and bright rooms" },
          { value: "dim", label: "Dim", hint: "For dark stores and galleries" },
        ]}
        value=${look.value}
        onChange=${(/** @type {"light" | "dim"} */ chosen) => {
          look.value = chosen;
        }}
      />
      <div class="section">
        <${Choice}
          label="The hand that taps"
          name="handed"
          options=${[
            { value: "right", label: "Right hand", hint: "The next step is at the right" },
            { value: "left", label: "Left hand", hint: "The next step is at the left" },
          ]}
          value=${handed.value}
          onChange=${(/** @type {"left" | "right"} */ chosen) => {
            handed.value = chosen;
          }}
        />
      </div>
      <${Lamp} />
      ${!session.value?.loan && html`<${Carried} />`}
      ${session.value?.loan ? html`<${ThisPass} />` : html`<${ThisDevice} />`}
      <${About} />
    </main>
  </div>`;
}

/** From when on the timer of the ultraviolet lamp warns. */
function Lamp() {
  const [trouble, setTrouble] = useState("");
  const take = (/** @type {string} */ text) => {
    const { value, sentence } = readMinutes(text);
    const isTime = typeof value === "number" && value > 0;
    setTrouble(sentence ?? (isTime ? "" : "Give a time of more than 0 minutes."));
    if (isTime) lampLimit.value = value;
  };
  return html`<section class="section stack">
    <h2>Ultraviolet lamp</h2>
    <${TextField}
      label="Warn when the lamp was on for longer, in one examination"
      unit="min"
      inputMode="decimal"
      value=${lampLimit.value}
      hint=${`Give the time that your department allows. Fieldleaf takes ${LAMP_LIMIT_MIN} minutes: common practice, no source.`}
      error=${trouble || null}
      onInput=${take}
    />
  </section>`;
}

/** Which part of the catalogue is carried, and choosing another. */
function Carried() {
  const places = usePlaces();
  const carried = useLive(readCarried, [], { objects: 0, locations: /** @type {string[]} */ ([]) });
  const [choosing, setChoosing] = useState(false);
  return html`<section class="section stack">
    <h2>What this device carries</h2>
    <p>
      <span class="big-word numeral">${grouped(carried.objects)}</span>
      ${carried.objects === 1 ? " object" : " objects"}
    </p>
    ${carried.locations.length === 0
      ? html`<p>The whole catalogue.</p>`
      : html`<ul class="points">
          ${carried.locations.map((id) => html`<li key=${id}>${places.words(id) || "A place"}</li>`)}
        </ul>`}
    <button type="button" class="button" onClick=${() => setChoosing(true)}>
      Carry something else
    </button>
    <${Dialog}
      title="What to carry"
      open=${choosing}
      onClose=${() => setChoosing(false)}
    >
      <${ScopeForm} now=${carried.locations} onDone=${() => setChoosing(false)} />
    </${Dialog}>
  </section>`;
}

function ScopeForm(/** @type {{now: string[], onDone: () => void}} */ { now, onDone }) {
  const places = usePlaces();
  const [chosen, setChosen] = useState(now);
  const [at, setAt] = useState(/** @type {string | null} */ (null));
  const [problem, setProblem] = useState("");
  const carryThese = async () => {
    setProblem("");
    try {
      await carry(chosen);
      syncNow();
      onDone();
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<p>
      Choose the places whose objects you want with you. Records you made stay here in any case.
      This needs the network.
    </p>
    ${chosen.length === 0
      ? html`<p><strong>Chosen: the whole catalogue.</strong></p>`
      : html`<ul class="rows" aria-label="Chosen places">
          ${chosen.map(
            (id) => html`<li key=${id} class="scope-row">
              <span class="grow">${places.words(id) || "A place"}</span>
              <button
                type="button"
                class="button"
                onClick=${() => setChosen(chosen.filter((each) => each !== id))}
              >
                Leave out
              </button>
            </li>`,
          )}
        </ul>`}
    <${LocationSteps}
      places=${places}
      at=${at}
      onGo=${setAt}
      onChoose=${(/** @type {string} */ id) => setChosen([...new Set([...chosen, id])])}
    />
    ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
    <div class="row">
      ${chosen.length > 0 &&
      html`<button type="button" class="button" onClick=${() => setChosen([])}>
        The whole catalogue
      </button>`}
      <button type="button" class="button-next" onClick=${carryThese}>Carry these</button>
    </div>`;
}

/** The device's name, who is signed in, and signing out. */
function ThisDevice() {
  const name = useLive(() => readSetting("device_name"), [], "");
  const [leaving, setLeaving] = useState(false);
  const waiting = waitingInWords(syncState.value);
  const leave = async () => {
    await signOut();
    location.hash = "#/sign-in";
  };
  return html`<section class="section stack">
    <h2>This device</h2>
    <${TextField}
      label="Name of this device"
      value=${name}
      onInput=${(/** @type {string} */ text) => writeSetting("device_name", text)}
      hint="The server learns a new name when you next sign in."
      fieldKey="settings.device_name"
    />
    ${session.value &&
    html`<p>
        Signed in as <strong>${session.value.person.name}</strong>, until
        ${" "}${day(session.value.expires_at)}.
      </p>
      <button type="button" class="button" onClick=${() => setLeaving(true)}>Sign out</button>`}
    <${Dialog} title="Sign out?" open=${leaving} onClose=${() => setLeaving(false)}>
      ${waiting
        ? html`<${Notice} kind="problem">
            <p><strong>Not sent yet: ${waiting}.</strong></p>
            <p>
              It stays on this device and is sent only when you sign in here again. Send first if
              there is a network.
            </p>
          </${Notice}>`
        : html`<p>Everything is sent. The records stay on this device.</p>`}
      <p>Signing in again needs the network.</p>
      <div class="row">
        ${waiting && html`<a class="button" href="#/sync">Send first</a>`}
        <button type="button" class="button" onClick=${() => setLeaving(false)}>Stay signed in</button>
        <button type="button" class="button" onClick=${leave}>
          ${waiting ? "Sign out, and send later" : "Sign out"}
        </button>
      </div>
    </${Dialog}>
  </section>`;
}

/** Whose pass is open here, until when, and giving it back. */
function ThisPass() {
  const [leaving, setLeaving] = useState(false);
  const [problem, setProblem] = useState("");
  const by = session.value;
  const waiting = waitingInWords(syncState.value);
  const giveBack = async () => {
    const isGone = await endHere().catch((error) => setProblem(error.message));
    if (isGone) location.replace("#/pass");
  };
  return html`<section class="section stack">
    <h2>Your pass</h2>
    ${by && html`<p>Pass of <strong>${by.person.name}</strong>, until ${dayAndTime(by.expires_at)}.</p>`}
    <button type="button" class="button" onClick=${() => setLeaving(true)}>
      Give the pass back
    </button>
    <${Dialog} title="Give the pass back?" open=${leaving} onClose=${() => setLeaving(false)}>
      ${waiting
        ? html`<${Notice} kind="problem">
            <p><strong>Not sent yet: ${waiting}.</strong></p>
            <p>Send it first: with the pass given back it can be sent no more.</p>
          </${Notice}>`
        : html`<p>
            Everything is sent. The loan’s records and pictures are taken off this device, and the
            pass opens on no other. This needs the network.
          </p>`}
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p></${Notice}>`}
      <div class="row">
        <button type="button" class="button" onClick=${() => setLeaving(false)}>Keep it</button>
        ${waiting
          ? html`<a class="button" href="#/sync">Send first</a>`
          : html`<button type="button" class="button" onClick=${giveBack}>Give it back</button>`}
      </div>
    </${Dialog}>
  </section>`;
}

function About() {
  const { terms, lights, version } = vocabulary.value;
  const [appVersion, setAppVersion] = useState("");
  useEffect(() => {
    versionCarried().then(setAppVersion);
  }, []);
  return html`<section class="section stack">
    <h2>About</h2>
    <p>
      Fieldleaf records what is seen on works on paper. It proposes nothing by itself: the
      conservator decides and signs.
    </p>
    <dl class="facts">
      <div>
        <dt>App</dt>
        <dd>
          ${appVersion
            ? `Version ${appVersion}, carried for use without a network`
            : "Not carried yet: it still needs the network to open"}
        </dd>
      </div>
      <div>
        <dt>Vocabulary</dt>
        <dd>
          ${count(terms.filter((term) => !term.retired).length, "term")},${" "}
          ${count(lights.length, "light")}${version && `, version ${version.slice(0, 8)}`}
        </dd>
      </div>
      <div><dt>Licence</dt><dd>MIT</dd></div>
    </dl>
    <a class="button" href="#/guide">Open the guide</a>
  </section>`;
}

async function readCarried() {
  const [objects, scope] = await Promise.all([
    db.objects.count(),
    /** @type {Promise<{locations?: string[]} | undefined>} */ (readSetting("scope")),
  ]);
  return { objects, locations: scope?.locations ?? [] };
}
