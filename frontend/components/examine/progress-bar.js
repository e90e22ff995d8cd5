/** The bar at the foot: how far one is, a jump to any section, and the one next thing. */

import { html, useState } from "../../vendor/ui.js";
import { Dialog } from "../dialog.js";
import { Notice } from "../notice.js";
import { nextStep, steps } from "./progress.js";
import { goToSection } from "./section.js";

/** @param {{held: import("./held.js").Held}} props */
export function ProgressBar({ held }) {
  const [listing, setListing] = useState(false);
  const all = steps(held.recorded.value);
  const next = nextStep(all);
  const due = all.filter((step) => step.next && step.id !== "sign");
  const go = (/** @type {string} */ id) => {
    setListing(false);
    // After the dialog has given the focus back.
    setTimeout(() => goToSection(id));
  };

  return html`<div class="actions examine-actions">
    <${SaveProblem} held=${held} />
    <div class="row">
      <button type="button" class="button sections-button" onClick=${() => setListing(true)}>
        <span class="sections-words">
          Sections${" "}
          <span class="soft small">
            ${due.filter((step) => step.done).length} of ${due.length}
            <span class="visually-hidden"> done</span>
          </span>
        </span>
        <span class="sections-marks" aria-hidden="true">
          ${due.map((step) => html`<span key=${step.id} class=${step.done ? "done" : ""}></span>`)}
        </span>
      </button>
      ${held.loanCheck.value
        ? html`<a class="button-next" href=${`#/check/${held.loanCheck.value.id}?step=found`}>
            Back to the check
          </a>`
        : next.id === "sign"
          ? html`<button type="button" class="button" onClick=${() => go("sign")}>${next.next}</button>`
          : html`<button type="button" class="button-next" onClick=${() => go(next.id)}>
              ${next.next}
            </button>`}
    </div>
    <${Dialog} title="Sections" open=${listing} onClose=${() => setListing(false)}>
      <ul class="rows">
        ${all.map(
          (step) => html`<li key=${step.id}>
            <button type="button" class="row-link" onClick=${() => go(step.id)}>
              <span class="grow">
                <span class="row-name">${step.name}</span>
                <span class="soft small">${step.state}</span>
              </span>
              <span class=${`tag ${step.done ? "" : "open"}`}>
                ${step.done ? "Done" : step.next ? "Open" : "If needed"}
              </span>
            </button>
          </li>`,
        )}
      </ul>
    <//>
  </div>`;
}

/** Says when something is not on the disk yet, and what to do. */
function SaveProblem(/** @type {{held: import("./held.js").Held}} */ { held }) {
  if (held.problem.value) {
    return html`<${Notice} kind="problem">
      <p>${held.problem.value}</p>
      <button type="button" class="button" onClick=${() => held.retry()}>Save again</button>
    <//>`;
  }
  return html`<p class="save-state soft small" role="status">
    ${held.slow.value && "Saving on this device…"}
  </p>`;
}
