/** One person's part of a signing: who they are, and their hand on the glass. */

import { html } from "../../vendor/ui.js";
import { Choice } from "../choice.js";
import { TextField } from "../text-field.js";
import { optionsOf } from "../wording.js";
import { Pad } from "./pad.js";

/** @import { SignatureRow } from "../../store/types.js" */

/**
 * What a person has put in so far. `signed` is the hash of the text that they had before them when
 * they signed, "" until then: what was altered since is not signed.
 * @typedef {Pick<SignatureRow, "role" | "name" | "of" | "strokes"> & {byName: boolean, signed: string}} HandDraft
 */

/**
 * @param {object} props
 * @param {string} props.title
 * @param {string} props.part  a name for this hand's fields
 * @param {HandDraft} props.hand
 * @param {string} props.sha256  of the text to be signed
 * @param {(fields: Partial<HandDraft>) => void} props.onChange
 * @param {string[]} props.names  those who are likely to sign
 * @param {string[]} props.houses  museums and firms likewise
 */
export function Hand({ title, part, hand, sha256, onChange, names, houses }) {
  const isStale = hand.signed !== "" && hand.signed !== sha256;
  const strokes = isStale ? [] : hand.strokes;
  const byName = !isStale && hand.byName;
  const who = hand.name.trim() || title.toLowerCase();
  const clear = () => onChange({ strokes: [], byName: false, signed: "" });
  return html`<section class="hand stack" aria-label=${title}>
    <h3>${title}</h3>
    <${Choice}
      label="Signs as"
      name=${`role-${part}`}
      fieldKey=${`${part}:role`}
      options=${optionsOf("role")}
      value=${hand.role}
      onChange=${(/** @type {SignatureRow["role"]} */ role) => onChange({ role })}
    />
    <${TextField}
      label="Name"
      value=${hand.name}
      fieldKey=${`${part}:name`}
      suggestions=${names}
      onInput=${(/** @type {string} */ name) => onChange({ name })}
    />
    <${TextField}
      label="Museum or firm"
      value=${hand.of}
      fieldKey=${`${part}:of`}
      suggestions=${houses}
      onInput=${(/** @type {string} */ of) => onChange({ of })}
    />
    ${isStale &&
    html`<p class="field-error" role="alert">
      Something was changed after ${who} had signed here. Read what is signed once more, then sign
      again.
    </p>`}
    ${byName
      ? html`<p class="by-name">
          <strong>${who}</strong> signs with the name alone. Nothing is drawn, and the report says so.
        </p>`
      : html`<${Pad}
          label=${`Signature of ${who}`}
          strokes=${strokes}
          onStrokes=${(/** @type {HandDraft["strokes"]} */ drawn) =>
            onChange({ strokes: drawn, byName: false, signed: sha256 })}
        />`}
    <div class="row">
      <button
        type="button"
        class="button"
        data-field=${`${part}:clear`}
        disabled=${strokes.length === 0 && !byName}
        onClick=${clear}
      >
        ${byName ? "Draw it instead" : "Clear"}
      </button>
      ${!byName &&
      html`<button
        type="button"
        class="button"
        data-field=${`${part}:by-name`}
        onClick=${() => onChange({ strokes: [], byName: true, signed: sha256 })}
      >
        Sign with my name
      </button>`}
    </div>
  </section>`;
}

/**
 * What is still wanting before this hand can sign, in a sentence; "" when nothing is.
 *
 * @param {HandDraft} hand @param {string} sha256 @param {string} title
 */
export function lackOf(hand, sha256, title) {
  if (!hand.name.trim()) return `${title}: write the name.`;
  if (hand.name.trim().length > MOST_LETTERS.name) return `${title}: the name is too long; shorten it.`;
  if (hand.of.length > MOST_LETTERS.of) return `${title}: the museum's or firm's name is too long; shorten it.`;
  const isSigned = hand.signed === sha256 && (hand.byName || hand.strokes.length > 0);
  return isSigned ? "" : `${title}: sign in the field, or with the name.`;
}

/** As many as the server keeps. */
const MOST_LETTERS = { name: 120, of: 200 };
