/**
 * Up to four tablets in one process. Each runs the app's own modules on a database of its own;
 * whatever it asks of the network goes out over stdout, and the test decides what becomes of it.
 *
 * One JSON line comes in at a time. What happens because of it goes out as lines, and the last
 * of them, {"quiet": true}, says that nothing more will happen before the next line comes in.
 *
 *   in   {"id", "tablet", "clock_ms", "do", …}       see DEEDS
 *        {"answer": number, "tablet", "clock_ms", "status", "headers", "body"}
 *        {"answer": number, "tablet", "clock_ms", "broken": true}
 *   out  {"done": id, "value"} | {"done": id, "error": sentence, "kind"}
 *        {"asked": number, "tablet", "life", "method", "path", "headers", "body"}
 */

import { createHash } from "node:crypto";
import { createInterface } from "node:readline";

import { IDBFactory, IDBKeyRange } from "../../../frontend/node_modules/fake-indexeddb/build/esm/index.js";
import Dexie from "../../../frontend/vendor/dexie.js";
import { kept, modulesOf, realms } from "./realms.mjs";
import { hasSettled, track } from "./settling.mjs";

const factories = new Map();
const apps = new Map();
const unanswered = new Map();
let questions = 0;

function say(message) {
  process.stdout.write(JSON.stringify(message) + "\n");
}

/** Sends a request out and waits for what the test makes of it. */
function askNetwork(tablet, life, { method, path, headers, body }) {
  const number = (questions += 1);
  say({ asked: number, tablet, life, method, path, headers, body: body.toString("base64") });
  return new Promise((resolve, reject) => unanswered.set(number, { resolve, reject }));
}

function answer({ answer: number, broken, status, headers, body }) {
  const waiting = unanswered.get(number);
  unanswered.delete(number);
  if (broken) waiting?.reject(new TypeError("The connection broke off."));
  else waiting?.resolve({ status, headers, body: Buffer.from(body, "base64") });
}

/** Starts the app on a tablet; what ran there before is gone, its database stays. */
async function open({ tablet, life, clock_ms: clockMs, patches = [] }) {
  apps.get(tablet)?.database.db.close();
  if (!factories.has(tablet)) factories.set(tablet, new IDBFactory());
  const realm = { tablet, life, clockMs, patches, ask: (request) => askNetwork(tablet, life, request) };
  const name = `${tablet}-${life}`;
  realms.set(name, realm);
  // Each database that is made from now on lies on this tablet.
  Object.assign(Dexie.dependencies, { indexedDB: factories.get(tablet), IDBKeyRange });
  const app = await modulesOf(name);
  apps.set(tablet, { ...app, realm });
  await app.session.restore();
  return null;
}

/** Everything a tablet holds, as plain values. */
async function state({ database: { db, TABLES } }) {
  const rows = {};
  for (const [entity, table] of Object.entries(TABLES)) rows[entity] = await db.table(table).toArray();
  const uploads = new Map((await db.uploads.toArray()).map((upload) => [upload.sha256, upload]));
  const originals = [];
  for (const { blob, sha256 } of await db.originals.toArray()) {
    const held = blob ? hashOf(await blob.arrayBuffer()) : null;
    originals.push({ sha256, held, sent: uploads.get(sha256)?.sent ?? 0 });
  }
  const settings = await db.settings.bulkGet(["pull", "scope"]);
  return {
    rows,
    originals,
    outbox: await db.outbox.orderBy("order").toArray(),
    questions: await db.questions.toArray(),
    pull: settings[0]?.value ?? null,
    scope: settings[1]?.value ?? null,
  };
}

function hashOf(bytes) {
  return createHash("sha256").update(Buffer.from(bytes)).digest("hex");
}

/** What the test may ask of an open app. */
const DEEDS = {
  state,
  signIn: ({ session }, { given }) => session.signIn(given),
  create: ({ write }, { entity, fields }) => write.create(entity, fields),
  save: ({ write }, { entity, key, fields }) => write.save(entity, key, fields),
  remove: ({ write }, { entity, key }) => write.remove(entity, key),
  async photograph({ write }, { shot, content }) {
    const file = new File([Buffer.from(content, "base64")], "shot.png", { type: "image/png" });
    return (await write.addPhotograph({ ...shot, file })).id;
  },
  async sync({ engine, state: { syncState } }) {
    await engine.syncNow();
    return syncState.value.problem;
  },
  carry: ({ scope }, { locations }) => scope.carry(locations),
  settle: ({ questions }, { question, choice, reason }) =>
    questions.settle(question, choice, reason),
  retryRefused: ({ refused }) => refused.retryRefused(),
  discard: ({ refused }, { change }) => refused.discard(change),
  freeSent: ({ space }) => space.freeSent(),
};

async function perform(command) {
  try {
    const app = apps.get(command.tablet);
    const value = await (command.do === "open" ? open(command) : DEEDS[command.do](app, command));
    say({ done: command.id, value: value ?? null });
  } catch (error) {
    say({ done: command.id, error: error.message, kind: error.kind ?? error.name, stack: error.stack });
  }
}

function forgetAll() {
  for (const { database } of apps.values()) database.db.close();
  for (const each of [apps, factories, kept, unanswered, realms]) each.clear();
}

// What a tablet would show in its browser's console belongs to the test's own output.
console.log = console.error;

for await (const line of createInterface({ input: process.stdin })) {
  const message = JSON.parse(line);
  const app = apps.get(message.tablet);
  if (app) app.realm.clockMs = message.clock_ms;
  if ("answer" in message) answer(message);
  else if (message.do === "forgetAll") forgetAll();
  else track(perform(message), { waits: true });
  await hasSettled();
  say({ quiet: true });
}
