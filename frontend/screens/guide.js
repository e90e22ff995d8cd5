/** The guide: every light, condition term, caution, grade and kind of work, with its source. */

import { Caution } from "../components/caution.js";
import { LightFigure } from "../components/light-figure.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { count } from "../components/wording.js";
import { caution, hazard, light, vocabulary } from "../store/vocabulary.js";
import { wantedBy } from "../store/wanted.js";
import { html, useState } from "../vendor/ui.js";

/**
 * @typedef {import("../store/types.js").Light} LightEntry
 * @typedef {import("../store/types.js").Term} Term
 */

const PARTS = [
  { code: "lights", name: "Lights" },
  { code: "terms", name: "Terms" },
  { code: "cautions", name: "Cautions" },
  { code: "grades", name: "Grades" },
];

/** @param {{part?: string}} props */
export function Guide({ part = "lights" }) {
  const [text, setText] = useState("");
  const isSearch = text.trim() !== "";
  const isWanted = wantedBy(text);
  const matches = (/** @type {unknown} */ entry) => isWanted(JSON.stringify(entry));
  const { lights, terms, cautions, hazards, grades, kinds_of_work } = vocabulary.value;
  const found = {
    lights: lights.filter(matches),
    terms: terms.filter((term) => !term.retired && matches(term)),
    cautions: cautions.filter(matches),
    hazards: hazards.filter(matches),
    grades: grades.filter(matches),
    kinds: kinds_of_work.filter(matches),
  };
  const isShown = (/** @type {string} */ code) => isSearch || part === code;
  const nothing = isSearch && Object.values(found).every((list) => list.length === 0);

  return html`<div class="screen">
    <${TopBar} title="Guide" back="#/visits" />
    <main id="main" class="wide guide">
      <${TextField}
        label="Search the guide"
        type="search"
        value=${text}
        onInput=${setText}
        fieldKey="guide.text"
      />
      ${terms.length === 0 &&
      html`<p class="empty">
        <strong>The guide has not arrived yet.</strong>
        Connect to the network once. It is then carried and can be read anywhere.
      </p>`}
      ${nothing &&
      html`<p class="empty" role="status">
        <strong>Nothing in the guide has these words.</strong>
        Try one word, or part of it.
      </p>`}
      ${isShown("lights") && html`<${Lights} lights=${found.lights} />`}
      ${isShown("terms") && html`<${Terms} terms=${found.terms} isSearch=${isSearch} />`}
      ${isShown("cautions") &&
      html`<${Cautions} cautions=${found.cautions} hazards=${found.hazards} />`}
      ${isShown("grades") && html`<${Grades} grades=${found.grades} kinds=${found.kinds} />`}
    </main>
    <nav class="actions" aria-label="Parts of the guide">
      <div class="row ways">
        ${PARTS.map(
          ({ code, name }) => html`<a
            class="button way"
            href=${`#/guide?part=${code}`}
            aria-current=${!isSearch && part === code ? "page" : undefined}
            onClick=${() => {
              setText("");
              scrollTo(0, 0);
            }}
          >
            ${name}
          </a>`,
        )}
      </div>
    </nav>
  </div>`;
}

function Lights(/** @type {{lights: (LightEntry & {traps?: string[], source?: string})[]}} */ { lights }) {
  if (!lights.length) return null;
  return html`<section class="section">
    <h2>Lights</h2>
    ${lights.map(
      (entry) => html`<article class="guide-light" key=${entry.code}>
        <div class="guide-light-head">
          <${LightFigure}
            light=${entry.code}
            azimuth=${entry.has_azimuth ? 315 : null}
            size=${96}
          />
          <div>
            <h3>${entry.name}</h3>
            <p>${entry.purpose}</p>
          </div>
        </div>
        <div class="guide-columns">
          <div>
            <h4>How to set it up</h4>
            <ol class="steps">
              ${entry.setup.map((step) => html`<li>${step}</li>`)}
            </ol>
          </div>
          <div class="stack">
            <${Points} name="What it shows" points=${entry.shows} />
            ${entry.traps && html`<${Points} name="What may mislead" points=${entry.traps} />`}
          </div>
        </div>
        ${entry.caution && html`<${Caution} code=${entry.caution} />`}
        ${entry.source && html`<${Source} source=${entry.source} />`}
      </article>`,
    )}
  </section>`;
}

function Points(/** @type {{name: string, points: string[]}} */ { name, points }) {
  return html`<div>
    <h4>${name}</h4>
    <ul class="points">
      ${points.map((point) => html`<li>${point}</li>`)}
    </ul>
  </div>`;
}

function Terms(/** @type {{terms: Term[], isSearch: boolean}} */ { terms, isSearch }) {
  const groups = vocabulary.value.groups
    .map((group) => ({ ...group, terms: terms.filter((term) => term.group === group.code) }))
    .filter((group) => group.terms.length);
  if (!groups.length) return null;
  return html`<section class="section">
    <h2>Condition terms <span class="soft">${count(terms.length, "term")}</span></h2>
    ${!isSearch &&
    html`<nav aria-label="Groups of terms" class="row guide-jumps">
      ${groups.map(
        (group) => html`<button
          type="button"
          class="button"
          onClick=${() => document.getElementById(`group-${group.code}`)?.scrollIntoView()}
        >
          ${group.name}
        </button>`,
      )}
    </nav>`}
    ${groups.map(
      (group) => html`<div class="guide-group" key=${group.code}>
        <h3 id=${`group-${group.code}`}>${group.name}</h3>
        <p class="soft">${group.definition}</p>
        <div class="guide-terms">
          ${group.terms.map((term) => html`<${TermEntry} key=${term.code} term=${term} />`)}
        </div>
      </div>`,
    )}
  </section>`;
}

function TermEntry(/** @type {{term: Term}} */ { term }) {
  const anchors = Object.entries(term.anchors);
  return html`<article class="guide-term">
    <h4>${term.name}</h4>
    ${term.hazards.map(
      (code) => html`<p><span class="tag alarm">Cannot wait: ${hazard(code)?.name ?? code}</span></p>`,
    )}
    <p>${term.definition}</p>
    ${term.may_be_feature &&
    html`<p><span class="tag">May be a feature of making, not damage</span></p>`}
    ${anchors.length > 0 &&
    html`<dl class="anchors">
      ${anchors.map(
        ([severity, sentence]) => html`<div>
          <dt>${severity.charAt(0).toUpperCase() + severity.slice(1)}</dt>
          <dd>${sentence}</dd>
        </div>`,
      )}
    </dl>`}
    <ul class="guide-term-lights" aria-label="Lights that usually show it">
      ${term.lights.map(
        (code) => html`<li>
          <${LightFigure} light=${code} size=${32} /> ${light(code)?.name ?? code}
        </li>`,
      )}
    </ul>
    <${Source} source=${term.source} />
    ${term.is_departmental && html`<p class="soft small">Added by this department.</p>`}
  </article>`;
}

function Cautions(
  /** @type {{cautions: import("../store/types.js").Caution[], hazards: import("../store/types.js").Hazard[]}} */ {
    cautions,
    hazards,
  },
) {
  if (!cautions.length && !hazards.length) return null;
  return html`<section class="section">
    <h2>Cautions</h2>
    <p class="soft guide-lead">
      What is usual. Your museum's rules and people licensed for the work come before this page.
    </p>
    <div class="guide-terms">
      ${cautions.map(
        ({ code }) => html`<div key=${code} class="stack">
          <${Caution} code=${code} />
          <${Source} source=${caution(code)?.source ?? ""} />
        </div>`,
      )}
    </div>
    ${hazards.length > 0 &&
    html`<h3 class="guide-subhead">What cannot wait</h3>
      <div class="guide-terms">
        ${hazards.map(
          (entry) => html`<article class="guide-term" key=${entry.code}>
            <h4>${entry.name}</h4>
            <p>${entry.sentence}</p>
            <p><strong>${entry.action}</strong></p>
          </article>`,
        )}
      </div>`}
  </section>`;
}

function Grades(
  /** @type {{grades: import("../store/types.js").Defined[], kinds: import("../store/types.js").Defined[]}} */ {
    grades,
    kinds,
  },
) {
  return html`${[
    { name: "Overall grades", entries: grades },
    { name: "Kinds of work", entries: kinds },
  ]
    .filter(({ entries }) => entries.length)
    .map(
      ({ name, entries }) => html`<section class="section" key=${name}>
        <h2>${name}</h2>
        <div class="guide-terms">
          ${entries.map(
            (entry) => html`<article class="guide-term" key=${entry.code}>
              <h3>${entry.name}</h3>
              <p>${entry.definition}</p>
            </article>`,
          )}
        </div>
      </section>`,
    )}`;
}

function Source(/** @type {{source: string}} */ { source }) {
  return source && html`<p class="source">Source: ${source.replace(/\.$/, "")}.</p>`;
}
