/** Starting a visit: what it is for, where, and what it is called. */

import { Choice } from "../components/choice.js";
import { LocationPicker } from "../components/location-picker.js";
import { Notice } from "../components/notice.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { day, purposeName, purposes } from "../components/wording.js";
import { create } from "../store/write.js";
import { html, useState } from "../vendor/ui.js";

/** @param {{object?: string}} props  an object to go on with once the visit is made */
export function Start({ object }) {
  const [purpose, setPurpose] = useState("");
  const [ownName, setOwnName] = useState(/** @type {string | null} */ (null));
  const [where, setWhere] = useState({ location: /** @type {string | null} */ (null), place: "" });
  const [problem, setProblem] = useState("");
  const proposed = [purpose && purposeName(purpose), day(Date.now())].filter(Boolean).join(", ");
  const name = ownName ?? proposed;

  const start = async () => {
    if (!purpose) return setProblem("Choose what the visit is for, at the top of this page.");
    if (!name.trim()) return setProblem("Give the visit a name, so that it can be found again.");
    try {
      const id = await create("visit", {
        purpose,
        name: name.trim().slice(0, 120),
        location: where.location,
        place: where.place.slice(0, 200),
        started_at: new Date().toISOString(),
        ended_at: null,
        note: "",
      });
      location.hash = object ? `#/find?visit=${id}&object=${object}` : `#/visit/${id}`;
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };

  return html`<div class="screen">
    <${TopBar} title="Start a visit" back="#/visits" />
    <main id="main">
      <${Choice}
        label="What is it for?"
        name="purpose"
        shape="list"
        options=${purposes}
        value=${purpose}
        onChange=${(/** @type {string} */ code) => {
          setPurpose(code);
          setProblem("");
        }}
      />
      <div class="section">
        <${TextField}
          label="Name of the visit"
          value=${name}
          onInput=${setOwnName}
          hint="Proposed from the purpose and the day. Change it if another name helps."
          fieldKey="visit.name"
        />
      </div>
      <section class="section">
        <h2>Where?</h2>
        <${LocationPicker} value=${where} onPick=${setWhere} />
      </section>
    </main>
    <footer class="actions">
      ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
      <div class="row">
        <button type="button" class="button-next" onClick=${start}>Start this visit</button>
      </div>
    </footer>
  </div>`;
}
