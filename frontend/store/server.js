/** Talks to the server, and puts into a sentence what went wrong when it does not answer well. */

import { signal } from "../vendor/ui.js";
import { digestHeader, isAsSent } from "./digest.js";

/**
 * no-network  no answer came
 * foreign     something else answered, such as a network's own sign-in page
 * sign-in     the device must sign in again
 * refused     the server will not take this request, however often it is repeated
 * too-large   the request is larger than the server takes at once
 * full        the server has no room left
 * server      the server failed; the same request may work later
 * version     app and server are too far apart in age; see versionTrouble
 * @typedef {"no-network" | "foreign" | "sign-in" | "refused" | "too-large" | "full" | "server" | "version"} Kind
 */

/** The server did not do what was asked. The message is a sentence for the person. */
export class ServerTrouble extends Error {
  /** @param {Kind} kind @param {string} sentence @param {string | null} [ended_at] */
  constructor(kind, sentence, ended_at = null) {
    super(sentence);
    this.name = "ServerTrouble";
    this.kind = kind;
    /** When a courier's pass ended whose time is over; null for all other troubles. */
    this.ended_at = ended_at;
  }
}

/** The version of the protocol that this app speaks; see survey/sync/protocol.py. */
const PROTOCOL = 1;
/** The server's word for an app whose protocol it does not speak. */
const OTHER_PROTOCOL = 501;

/**
 * Which of the two must be renewed before anything can be sent; null while they understand each
 * other.
 */
export const versionTrouble = signal(/** @type {"app" | "server" | null} */ (null));

/** What every request to the server carries. @param {string | null} token */
export function headersFor(token) {
  return {
    "Fieldleaf-Protocol": String(PROTOCOL),
    ...(token ? { Authorization: `Device ${token}` } : {}),
  };
}

/** The scheme that the server names when it does not take a sign-in; see survey/access. */
const SCHEME = "Device";

/** When the server last answered, by its own clock, in ms since 1970; 0 before it has. */
export const serverTime = signal(0);

/** The server's word, as in tus uploads, for what does not have the checksum that went with it. */
const DAMAGED = 460;

/** An answer that takes longer than this, in milliseconds, is taken for no network. */
const PATIENCE_MS = 60_000;

/**
 * Sends a request and reads the JSON answer.
 *
 * @param {string} path  for example "/api/sync/pull?cursor=0"
 * @param {{token?: string | null, method?: string, body?: unknown, headers?: Record<string, string>}} [options]
 * @returns {Promise<{status: number, body: any, headers: Headers}>}  any 2xx answer, or 304
 * @throws {ServerTrouble}
 */
export async function ask(path, { token = null, method = "GET", body, headers = {} } = {}) {
  const sent = body === undefined ? undefined : new TextEncoder().encode(JSON.stringify(body));
  let answer;
  let bytes;
  try {
    answer = await fetch(path, {
      method,
      headers: {
        Accept: "application/json",
        ...(sent && { "Content-Type": "application/json", ...(await digestHeader(sent)) }),
        ...headersFor(token),
        ...headers,
      },
      body: sent,
      credentials: "omit",
      cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    bytes = await answer.arrayBuffer();
  } catch {
    throw new ServerTrouble("no-network", "There is no connection to the server just now.");
  }
  if (!(await isAsSent(answer.headers, bytes))) throw damaged();
  const data = jsonOf(answer.headers.get("Content-Type"), new TextDecoder().decode(bytes));
  if (answer.status === 204 || answer.status === 304 || (answer.ok && data !== undefined)) {
    versionTrouble.value = null;
    serverTime.value = Math.max(serverTime.value, Date.parse(answer.headers.get("Date") ?? "") || 0);
    return { status: answer.status, body: data, headers: answer.headers };
  }
  const isForeign = answer.status === 401 && answer.headers.get("WWW-Authenticate") !== SCHEME;
  const trouble = isForeign ? foreign() : troubleOf(answer.status, data);
  if (trouble.kind === "version") {
    versionTrouble.value = /** @type {{oldest: number}} */ (data).oldest > PROTOCOL ? "app" : "server";
  }
  throw trouble;
}

function damaged() {
  return new ServerTrouble(
    "server",
    "Something between this device and the server alters what is sent, so it was not taken. " +
      "Everything stays saved here and is sent again. If this goes on, use another network.",
  );
}

/** @param {string | null} type @param {string} text @returns {unknown} undefined if not JSON */
function jsonOf(type, text) {
  if (!type?.includes("json")) return undefined;
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/**
 * What an answer other than the expected one means.
 *
 * @param {number} status  HTTP status
 * @param {unknown} data  the JSON it carried; undefined when it carried something else
 * @returns {ServerTrouble}
 */
export function troubleOf(status, data) {
  if (status === 401) {
    return new ServerTrouble(
      "sign-in",
      sentenceIn(data) ?? "Sign in again to send. Your work is saved here and you can go on.",
      endIn(data),
    );
  }
  if (status === DAMAGED) return damaged();
  if (status === OTHER_PROTOCOL && typeof data === "object" && data !== null && "oldest" in data) {
    return new ServerTrouble("version", sentenceIn(data) ?? "App and server do not fit together.");
  }
  if (status === 413) {
    return new ServerTrouble("too-large", sentenceIn(data) ?? "The server takes nothing this large.");
  }
  if (status === 507) {
    return new ServerTrouble(
      "full",
      "The server has no room left. Everything stays saved here. " +
        "Tell whoever looks after the server.",
    );
  }
  if (status >= 500 || status === 429) {
    return new ServerTrouble(
      "server",
      `The server has trouble of its own (${status}). Everything stays saved here and is sent later.`,
    );
  }
  if (data === undefined) return foreign();
  return new ServerTrouble("refused", sentenceIn(data) ?? `The server did not accept this (${status}).`);
}

function foreign() {
  return new ServerTrouble(
    "foreign",
    "Something other than the Fieldleaf server answered, perhaps the network's own sign-in page. " +
      "Open that page in the browser, or use another network.",
  );
}

/** @param {unknown} data  {"detail": sentence} or {"field": [sentences]} */
function sentenceIn(data) {
  if (typeof data !== "object" || data === null) return null;
  const first = "detail" in data ? data.detail : Object.values(data).flat()[0];
  return typeof first === "string" ? first : null;
}

/** @param {unknown} data  {"ended_at": ISO 8601} among others @returns {string | null} */
function endIn(data) {
  const at = typeof data === "object" && data !== null && "ended_at" in data ? data.ended_at : null;
  return typeof at === "string" && !Number.isNaN(Date.parse(at)) ? at : null;
}
