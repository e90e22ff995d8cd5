/** One condition term: a tick as large as a thumb, and what is meant by it. */

import { html, useLayoutEffect, useRef, useState } from "../../vendor/ui.js";
import { ObservationEditor } from "./observation-editor.js";
import { SeenRow } from "./seen-row.js";
import { TermMeaning } from "./term-meaning.js";
import { lowerFirst } from "./words.js";

/** @import { ObservationRow, Term } from "../../store/types.js" */
/** @import { Held } from "./held.js" */

/**
 * A tap on a term not seen yet records it and opens its editor; a tap on one that was seen
 * shows or hides what was recorded.
 *
 * @param {{held: Held, term: Term, where: string}} props
 */
export function TermRow({ held, term, where }) {
  const [explained, setExplained] = useState(false);
  const [ticking, setTicking] = useState(false);
  const { view } = held;
  const seen = held.observations.value.filter((observation) => observation.term === term.code);
  const key = `${where}/${term.code}`;
  const open = view.term.value === key && seen.length > 0;
  const line = useRef(/** @type {HTMLDivElement | null} */ (null));
  const stayAt = useStayingInPlace(line, seen.length);

  const tick = async () => {
    stayAt();
    setTicking(true);
    const observation = await held.tick(term);
    setTicking(false);
    if (!observation) return;
    view.term.value = key;
    view.observation.value = `${key}/${observation}`;
  };

  return html`<li class="term-row">
    <div class="term-line" ref=${line}>
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
          <span class="soft small">${aside(term, seen.length)}</span>
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
    ${explained && !open && html`<div class="inset"><${TermMeaning} term=${term} /></div>`}
    ${open &&
    html`<div class="term-seen stack">
      ${seen.length === 1
        ? html`<${ObservationEditor} held=${held} observation=${seen[0]} />`
        : html`<${SeenRows} held=${held} seen=${seen} where=${key} />`}
      <button type="button" class="button" disabled=${ticking} onClick=${tick}>
        Add another: ${lowerFirst(term.name)}
      </button>
    </div>`}
  </li>`;
}

function SeenRows(/** @type {{held: Held, seen: ObservationRow[], where: string}} */ { held, seen, where }) {
  const all = held.observations.value;
  return html`<ul class="rows">
    ${seen.map(
      (observation) => html`<${SeenRow}
        key=${observation.id}
        held=${held}
        observation=${observation}
        number=${all.indexOf(observation) + 1}
        where=${where}
      />`,
    )}
  </ul>`;
}

function aside(/** @type {Term} */ term, /** @type {number} */ times) {
  return [
    times > 0 && (times === 1 ? "Seen here" : `Seen here, ${times} times`),
    term.is_departmental && "Department’s own term",
  ]
    .filter(Boolean)
    .join(". ");
}

/**
 * Keeps an element where it is on the screen while the list of what was seen grows above it.
 *
 * @param {{current: HTMLElement | null}} element
 * @param {number} changes  a value that changes with the redraw that moves things
 * @returns {() => void} call it just before the change
 */
function useStayingInPlace(element, changes) {
  const top = useRef(/** @type {number | null} */ (null));
  useLayoutEffect(() => {
    if (top.current === null || !element.current) return;
    window.scrollBy(0, element.current.getBoundingClientRect().top - top.current);
    top.current = null;
  }, [changes]);
  return () => {
    top.current = element.current?.getBoundingClientRect().top ?? null;
  };
}
