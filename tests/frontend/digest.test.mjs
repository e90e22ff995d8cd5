import assert from "node:assert/strict";
import { afterEach, test } from "node:test";

import { digestHeader, isAsSent } from "../../frontend/store/digest.js";
import { ask } from "../../frontend/store/server.js";

const realFetch = globalThis.fetch;
afterEach(() => {
  globalThis.fetch = realFetch;
});

const bytesOf = (text) => new TextEncoder().encode(text);

test("the digest is that of RFC 9530, section 2, for the same content", async () => {
  const example = await digestHeader(bytesOf('{"hello": "world"}\n'));
  assert.equal(
    example["Content-Digest"],
    "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:",
  );
});

test("an answer with one letter altered is found out", async () => {
  const headers = new Headers(await digestHeader(bytesOf('{"grade":"fair"}')));
  assert.equal(await isAsSent(headers, bytesOf('{"grade":"fair"}').buffer), true);
  assert.equal(await isAsSent(headers, bytesOf('{"grade":"hair"}').buffer), false);
});

test("an answer without a digest, or compressed on the way, is not held against one", async () => {
  const headers = new Headers(await digestHeader(bytesOf("one")));
  assert.equal(await isAsSent(new Headers(), bytesOf("two").buffer), true);
  headers.set("Content-Encoding", "gzip");
  assert.equal(await isAsSent(headers, bytesOf("two").buffer), true);
});

test("what is asked goes with its digest, and an altered answer is not taken", async () => {
  let asked;
  globalThis.fetch = async (path, options) => {
    asked = options;
    const headers = { "Content-Type": "application/json", ...(await digestHeader(bytesOf("[1]"))) };
    return new Response("[7]", { headers });
  };
  await assert.rejects(ask("/api/x", { method: "POST", body: [2] }), {
    kind: "server",
    message: /alters what is sent/,
  });
  const { "Content-Digest": digest } = await digestHeader(bytesOf("[2]"));
  assert.equal(asked.headers["Content-Digest"], digest);
});

test("a request that arrived altered is to be sent again, not given up", async () => {
  globalThis.fetch = async () => Response.json({ detail: "Damaged." }, { status: 460 });
  await assert.rejects(ask("/api/x", { method: "POST", body: [] }), { kind: "server" });
});
