/**
 * One copy of the app's modules for each life of each tablet. A module's address carries the
 * name of its realm, `…/push.js?realm=A-2`, and hands it on to whatever it imports; on loading,
 * the few things that would reach out of the realm (clock, network, locks) are put in its way.
 */

import { readFileSync } from "node:fs";
import { registerHooks } from "node:module";
import { fileURLToPath } from "node:url";

import { requestClassOf } from "./xhr.mjs";

const FRONTEND = new URL("../../../frontend/", import.meta.url).href;

/** @type {Map<string, {tablet: string, life: number, clockMs: number, patches: object[], ask: Function}>} */
export const realms = new Map();

const SHORT_PAUSE_MS = 10_000;

/** What of a realm stands in for the browser's own, by name. */
const STANDS_IN = {
  Date: (realm) =>
    class extends Date {
      constructor(...given) {
        if (given.length) super(...given);
        else super(realm.clockMs);
      }
      static now() {
        return realm.clockMs;
      }
    },
  fetch: (realm) => async (path, { method, headers, body }) => {
    const answer = await realm.ask({ method, path, headers, body: Buffer.from(body ?? "") });
    const empty = [204, 304].includes(answer.status);
    return new Response(empty ? null : answer.body, { status: answer.status, headers: answer.headers });
  },
  XMLHttpRequest: requestClassOf,
  localStorage: ({ tablet }) => {
    if (!kept.has(tablet)) kept.set(tablet, smallStorage());
    return kept.get(tablet);
  },
  navigator: () => ({ onLine: true, locks: locks() }),
  // A short pause before trying again passes at once. A long one is patience with the network,
  // which here always ends by itself.
  setTimeout: () => (work, ms = 0) => (ms < SHORT_PAUSE_MS ? setImmediate(work) : undefined),
};

globalThis.standsIn = (realm, name) => {
  const of = realms.get(realm);
  of.made ??= {};
  return (of.made[name] ??= STANDS_IN[name](of));
};

/** What a tablet keeps beside its database, over all its lives. */
export const kept = new Map();

function smallStorage() {
  const values = new Map();
  return {
    getItem: (key) => values.get(key) ?? null,
    setItem: (key, value) => void values.set(key, String(value)),
    removeItem: (key) => void values.delete(key),
  };
}

function locks() {
  const held = new Set();
  return {
    async request(name, options, work) {
      if (held.has(name)) return work(null);
      held.add(name);
      try {
        return await work({ name });
      } finally {
        held.delete(name);
      }
    },
  };
}

/** Libraries that keep nothing of one tablet are the same for all. */
const SHARED = ["vendor/ui.js", "vendor/dexie.js"].map((file) => FRONTEND + file);

function realmOf(address) {
  return address.startsWith(FRONTEND) ? new URL(address).searchParams.get("realm") : null;
}

registerHooks({
  resolve(specifier, context, next) {
    const found = next(specifier, context);
    const realm = context.parentURL && realmOf(context.parentURL);
    return realm && !SHARED.includes(found.url) ? { ...found, url: `${found.url}?realm=${realm}` } : found;
  },
  load(address, context, next) {
    const realm = realmOf(address);
    if (!realm) return next(address, context);
    const path = fileURLToPath(address.split("?")[0]);
    const source = patched(readFileSync(path, "utf8"), path, realms.get(realm).patches);
    const names = Object.keys(STANDS_IN).filter((name) => new RegExp(`\\b${name}\\b`).test(source));
    const stand = names.map((name) => `const ${name} = standsIn("${realm}", "${name}");`).join(" ");
    return { format: "module", source: `${stand} ${source}`, shortCircuit: true };
  },
});

/** The source with the faults that a test puts in. */
function patched(source, path, patches) {
  for (const { file, find, put } of patches) {
    if (!path.endsWith(file)) continue;
    if (!source.includes(find)) throw new Error(`${file} no longer holds the words: ${find}`);
    source = source.replace(find, () => put);
  }
  return source;
}

/** The parts of the app that a test speaks to. */
const PARTS = {
  database: "store/database.js",
  session: "store/session.js",
  write: "store/write.js",
  refused: "store/refused.js",
  space: "store/space.js",
  engine: "sync/engine.js",
  state: "sync/state.js",
  scope: "sync/scope.js",
  questions: "store/questions.js",
};

/** Loaded by the app when first needed: here at once, so that no loading comes in between. */
const LATER = ["vendor/tus.js", "imaging/hash.js", "imaging/inspect.js", "imaging/thumbnail.js"];

export async function modulesOf(realm) {
  const load = (file) => import(`${FRONTEND}${file}?realm=${realm}`);
  const parts = {};
  for (const [name, file] of Object.entries(PARTS)) parts[name] = await load(file);
  for (const file of LATER) await load(file);
  return parts;
}
