/** The condition terms: by search, recently used, by group. Only the open group is drawn. */

import { vocabulary } from "../../store/vocabulary.js";
import { wantedBy } from "../../store/wanted.js";
import { html, useComputed, useMemo, useState } from "../../vendor/ui.js";
import { TextField } from "../text-field.js";
import { count } from "../wording.js";
import { TermRow } from "./term-row.js";

/** @import { Term } from "../../store/types.js" */

const FOUND_AT_MOST = 30;

/** @param {{held: import("./held.js").Held}} props */
export function TermList({ held }) {
  const [search, setSearch] = useState("");
  const { groups, terms } = vocabulary.value;
  const offered = useMemo(() => terms.filter((term) => !term.retired), [terms]);
  const found = useMemo(() => findTerms(offered, search), [offered, search]);
  const open = held.view.group;
  const recent = held.recent.value
    .map((code) => offered.find((term) => term.code === code))
    .filter((term) => term !== undefined);

  return html`<div class="term-list stack">
    <${TextField}
      label="Search the condition terms"
      type="search"
      value=${search}
      onInput=${setSearch}
      fieldKey="term-search"
    />
    ${search.trim()
      ? html`<${Rows} held=${held} where="found" label="Terms found" terms=${found} />
          ${found.length === 0 &&
          html`<p class="soft" role="status">
            No term has these words. Try fewer letters, or open a group below the empty search.
          </p>`}`
      : html`${recent.length > 0 &&
          html`<div>
            <h3 class="list-name">Used lately</h3>
            <${Rows} held=${held} where="recent" label="Terms used lately" terms=${recent} />
          </div>`}
          <div>
            <h3 class="list-name">All terms, by part</h3>
            <ul class="rows">
              ${groups.map(
                (group) => html`<${Group}
                  key=${group.code}
                  held=${held}
                  group=${group}
                  terms=${offered}
                  open=${open.value === group.code}
                  onToggle=${() => (open.value = open.value === group.code ? null : group.code)}
                />`,
              )}
            </ul>
          </div>`}
  </div>`;
}

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {import("../../store/types.js").Defined} props.group
 * @param {Term[]} props.terms
 * @param {boolean} props.open
 * @param {() => void} props.onToggle
 */
function Group({ held, group, terms, open, onToggle }) {
  const own = useMemo(() => terms.filter((term) => term.group === group.code), [terms, group]);
  const seen = useComputed(
    () => held.observations.value.filter(({ term }) => own.some(({ code }) => code === term)).length,
  ).value;
  return html`<li>
    <button
      type="button"
      class="row-link"
      aria-expanded=${open}
      data-field=${`group:${group.code}`}
      onClick=${onToggle}
    >
      <span class="grow">
        <span class="row-name">${group.name}</span>
        <span class="soft small">${count(own.length, "term")}${seen > 0 && `, ${seen} seen here`}</span>
      </span>
      <span class="soft small">${open ? "Close" : "Open"}</span>
    </button>
    ${open &&
    html`<div class="group-body">
      <p class="soft small">${group.definition}</p>
      <${Rows} held=${held} where=${group.code} label=${group.name} terms=${own} />
    </div>`}
  </li>`;
}

/** @param {{held: import("./held.js").Held, where: string, label: string, terms: Term[]}} props */
function Rows({ held, where, label, terms }) {
  return html`<ul class="term-rows" aria-label=${label}>
    ${terms.map(
      (term) => html`<${TermRow} key=${term.code} held=${held} term=${term} where=${where} />`,
    )}
  </ul>`;
}

/** Terms whose name has all the words, then those whose definition has. */
function findTerms(/** @type {Term[]} */ terms, /** @type {string} */ search) {
  if (!search.trim()) return [];
  const has = wantedBy(search);
  const byName = terms.filter(({ name }) => has(name));
  const byDefinition = terms.filter(({ name, definition }) => !has(name) && has(`${name} ${definition}`));
  return [...byName, ...byDefinition].slice(0, FOUND_AT_MOST);
}
