/** The lights, terms, cautions and other fixed words, as last received from the server. */

import { computed, signal } from "../vendor/ui.js";
import { readSetting, writeSetting } from "./database.js";
import { ask } from "./server.js";

/** @import { Vocabulary, Named } from "./types.js" */

/** @type {Vocabulary} */
const NOTHING_YET = {
  version: "",
  lights: [],
  groups: [],
  terms: [],
  cautions: [],
  hazards: [],
  grades: [],
  kinds_of_work: [],
  materials: { supports: [], media: [], mounts: [] },
};

export const vocabulary = signal(NOTHING_YET);

/** Reads the kept vocabulary when the app starts. */
export async function restoreVocabulary() {
  vocabulary.value = (await readSetting("vocabulary")) ?? NOTHING_YET;
}

/**
 * Asks the server for a newer vocabulary and keeps it.
 *
 * @param {string} token
 * @throws {import("./server.js").ServerTrouble}
 */
export async function refreshVocabulary(token) {
  const tag = vocabulary.value.version && (await readSetting("vocabulary_tag"));
  const answer = await ask("/api/vocabulary", {
    token,
    headers: tag ? { "If-None-Match": tag } : {},
  });
  if (answer.status === 304) return;
  await writeSetting("vocabulary", answer.body);
  await writeSetting("vocabulary_tag", answer.headers.get("ETag"));
  vocabulary.value = answer.body;
}

/**
 * @template {Named} T
 * @param {(vocabulary: Vocabulary) => T[]} list
 */
function byCode(list) {
  const index = computed(() => new Map(list(vocabulary.value).map((each) => [each.code, each])));
  /** @param {string | null | undefined} code */
  return (code) => (code ? index.value.get(code) : undefined);
}

export const term = byCode((words) => words.terms);
export const light = byCode((words) => words.lights);
export const caution = byCode((words) => words.cautions);
export const hazard = byCode((words) => words.hazards);
export const grade = byCode((words) => words.grades);
export const kindOfWork = byCode((words) => words.kinds_of_work);

/**
 * The order of observations wherever they are numbered, as survey/reports/ has it: that of their
 * terms, those of one term by their keys. One of a term that is not known comes last.
 *
 * @param {{id: string, term: string}} a @param {{id: string, term: string}} b
 */
export function byVocabulary(a, b) {
  return placeOf(a.term) - placeOf(b.term) || (a.id < b.id ? -1 : 1);
}

const places = computed(() => new Map(vocabulary.value.terms.map(({ code }, at) => [code, at])));

/** @param {string} code */
function placeOf(code) {
  return places.value.get(code) ?? places.value.size;
}
