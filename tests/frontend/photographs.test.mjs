import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { after, test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { ServerTrouble } from "../../frontend/store/server.js";
import { sendPhotographs } from "../../frontend/sync/photographs.js";
import { requestClassOf } from "../faults/protocol/xhr.mjs";

const TUS = { "Tus-Resumable": "1.0.0" };
const CONTENT = new Blob(["whole"], { type: "image/jpeg" });

const realFetch = globalThis.fetch;
after(() => Object.assign(globalThis, { fetch: realFetch, XMLHttpRequest: undefined }));

test("an upload of which the server has lost the bytes is begun anew the next time", async () => {
  /** The address of the upload under way is known; its file is gone when it is gone on with. */
  const stored = [];
  const asked = [];
  globalThis.fetch = async () => Response.json({ stored });
  globalThis.XMLHttpRequest = requestClassOf({
    async ask({ method, path, body }) {
      asked.push(`${method} ${path}`);
      const answer = (status, headers) => ({ status, headers: { ...TUS, ...headers }, body: Buffer.from("") });
      if (method === "HEAD") return answer(200, { "Upload-Offset": "4", "Upload-Length": "5" });
      if (method === "POST") return answer(201, { Location: "/api/uploads/new" });
      if (path.endsWith("old")) return answer(410, {});
      stored.push("aa");
      return answer(204, { "Upload-Offset": String(body.length) });
    },
  });
  await db.originals.add({ sha256: "aa", blob: CONTENT, size_bytes: 5, content_type: "image/jpeg", file_name: "" });
  await db.uploads.add({ sha256: "aa", size_bytes: 5, sent: 0, bytes_sent: 4, trouble: "", url: "/api/uploads/old" });

  await assert.rejects(sendPhotographs("token"), ServerTrouble);
  assert.deepEqual(asked.splice(0), ["HEAD /api/uploads/old", "PATCH /api/uploads/old"]);

  await sendPhotographs("token");
  assert.deepEqual(asked, ["POST /api/uploads/", "PATCH /api/uploads/new"]);
  assert.equal((await db.uploads.get("aa")).sent, 1);
});
