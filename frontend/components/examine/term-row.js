/** One condition term: a tick as large as a thumb, and what is meant by it. */

import { html, useComputed, useLayoutEffect, useRef, useState } from "../../vendor/ui.js";
import { lowerFirst } from "../wording.js";
import { ObservationEditor, SeenRow } from "./seen-row.js";
import { TermMeaning } from "./term-meaning.js";

/** @import { Term } from "../../store/types.js" */
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
  const key = `${where}/${term.code}`;
  // Numbers only, so that a letter typed elsewhere does not redraw every row.
  const times = useComputed(() => seenOf(held, term).length).value;
  const open = useComputed(() => view.term.value === key).value && times > 0;
  const line = useRef(/** @type {HTMLDivElement | null} */ (null));
  const stayInPlace = useStayingInPlace(line, times);

  const tick = async () => {
    // The write first: everything else can wait until it is on its way.
    const writing = held.tick(term);
    stayInPlace();
    setTicking(true);
    const observation = await writing;
    setTicking(false);
    if (!observation) return;
    view.term.value = key;
    view.observation.value = `${key}/${observation}`;
  };

  return html`<li class="term-row">
    <div class="term-line" ref=${line}>
      <button
        type="button"
        class=${`term-tick ${times || ticking ? "ticked" : ""}`}
        aria-expanded=${times ? open : undefined}
        data-field=${`term:${term.code}`}
        onClick=${() => {
          if (ticking) return;
          if (times === 0) tick();
          else view.term.value = open ? null : key;
        }}
      >
        <span class="choice-mark" aria-hidden="true"></span>
        <span class="grow">
          <span class="term-name">${term.name}</span>
          <span class="soft small">${aside(term, times)}</span>
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
      <${SeenOfTerm} held=${held} term=${term} where=${key} />
      <button type="button" class="button" disabled=${ticking} onClick=${tick}>
        Add another: ${lowerFirst(term.name)}
      </button>
    </div>`}
  </li>`;
}

/** The editor of the one observation of a term, or a row for each of several. */
function SeenOfTerm(/** @type {{held: Held, term: Term, where: string}} */ { held, term, where }) {
  const all = held.observations.value;
  const seen = seenOf(held, term);
  if (seen.length === 1) {
    return html`<${ObservationEditor} held=${held} observation=${seen[0]} />`;
  }
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

function seenOf(/** @type {Held} */ held, /** @type {Term} */ term) {
  return held.observations.value.filter((observation) => observation.term === term.code);
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
