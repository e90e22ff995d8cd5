/** One condition term: a tick as large as a thumb, and what is meant by it. */

import { html, useState } from "../../vendor/ui.js";
import { SeenRow } from "./seen-row.js";
import { TermMeaning } from "./term-meaning.js";
import { lowerFirst } from "./words.js";

/** @import { Term } from "../../store/types.js" */

/**
 * A tap on a term not seen yet records it and opens its editor; a tap on one that was seen
 * shows or hides what was recorded.
 *
 * @param {{held: import("./held.js").Held, term: Term, where: string}} props
 */
export function TermRow({ held, term, where }) {
  const [explained, setExplained] = useState(false);
  const [ticking, setTicking] = useState(false);
  const { view } = held;
  const all = held.observations.value;
  const seen = all.filter((observation) => observation.term === term.code);
  const key = `${where}/${term.code}`;
  const open = view.term.value === key && seen.length > 0;

  const tick = async () => {
    setTicking(true);
    const observation = await held.tick(term);
    setTicking(false);
    if (!observation) return;
    view.term.value = key;
    view.observation.value = `${key}/${observation}`;
  };

  return html`<li class="term-row">
    <div class="term-line">
      <button
        type="button"
        class=${`term-tick ${seen.length || ticking ? "ticked" : ""}`}
        aria-expanded=${seen.length ? open : undefined}
        data-field=${`term:${term.code}`}
        onClick=${() => {
          if (ticking) return;
          if (seen.length === 0) tick();
          else view.term.value = open ? null : key;
        }}
      >
        <span class="choice-mark" aria-hidden="true"></span>
        <span class="grow">
          <span class="term-name">${term.name}</span>
          <span class="soft small">
            ${[
              seen.length > 0 && (seen.length === 1 ? "Seen here" : `Seen here, ${seen.length} times`),
              term.is_departmental && "Department’s own term",
            ]
              .filter(Boolean)
              .join(". ")}
          </span>
        </span>
      </button>
      <button
        type="button"
        class="term-about"
        aria-expanded=${explained}
        aria-label=${`What is meant by ${lowerFirst(term.name)}`}
        onClick=${() => setExplained(!explained)}
      >
        <span aria-hidden="true">?</span>
      </button>
    </div>
    ${explained && html`<div class="inset"><${TermMeaning} term=${term} /></div>`}
    ${open &&
    html`<div class="term-seen">
      <ul>
        ${seen.map(
          (observation) => html`<${SeenRow}
            key=${observation.id}
            held=${held}
            observation=${observation}
            number=${all.indexOf(observation) + 1}
            where=${key}
          />`,
        )}
      </ul>
      <button type="button" class="button" disabled=${ticking} onClick=${tick}>
        Add another: ${lowerFirst(term.name)}
      </button>
    </div>`}
  </li>`;
}
