/** How a row that comes from the server meets what the tablet holds. */

/** @import { Change, Entity, Fields } from "./types.js" */

/**
 * One row as the server sends it; `fields` is null when it is deleted.
 * @typedef {{entity: Entity, id: string, revision: number, deleted: boolean, fields: Fields | null}} Pulled
 *
 * @typedef {Fields & {id: string, revision: number}} Held
 */

/**
 * The row to keep. What the server says stands, except that fields with a change still on its
 * way show the person's own value, and the tablet's own fields (`_…`) stay.
 *
 * @param {Pulled} pulled
 * @param {Held | undefined} held  the row the tablet holds
 * @param {Change[]} line  the record's changes that are not acknowledged, first to last
 * @returns {Held | null}  null when the row is to be removed
 */
export function merge(pulled, held, line) {
  const { deleted, ...own } = Object.assign({}, ...line.map(fieldsToShow));
  if (deleted) return null;
  if (pulled.deleted || !pulled.fields) {
    // Words on their way to a deleted record stay in sight until the server has answered them.
    return line.length && held ? held : null;
  }
  const tabletsOwn = Object.entries(held ?? {}).filter(([name]) => name.startsWith("_"));
  const { fields } = pulled;
  const hides = Object.keys(own).some((name) => !isSame(own[name], fields[name]));
  return {
    ...Object.fromEntries(tabletsOwn),
    ...fields,
    ...own,
    id: pulled.id,
    // The base of later changes: nobody has seen a word that the own one hides, so the next edit
    // must not pass for an answer to it. The acknowledged change brings the row again.
    revision: hides && held ? held.revision : pulled.revision,
  };
}

/** @param {unknown} a @param {unknown} b */
function isSame(a, b) {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** A refused signature is no signature: the form opens again. @param {Change} change */
function fieldsToShow({ state, fields }) {
  if (state !== "refused") return fields;
  const { signed_at, statement, ...others } = fields;
  if (signed_at === undefined) return others;
  const { signed_name, ...left } = others;
  return left;
}
