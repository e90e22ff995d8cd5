import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import assert from "node:assert/strict";
import { test } from "node:test";

import { db } from "../../frontend/store/database.js";
import { filesToSend, takeUpFiles } from "../../frontend/store/space.js";

test("a file that a window of the first version wrote is taken up and sent", async () => {
  const first = { content_type: "image/jpeg", file_name: "", trouble: "", upload_url: null };
  await db.originals.bulkAdd([
    { ...first, sha256: "aa", blob: new Blob(["a"]), size_bytes: 1, sent: 0 },
    { ...first, sha256: "bb", blob: null, size_bytes: 2, sent: 1 },
    { sha256: "cc", blob: new Blob(["ccc"]), size_bytes: 3 },
  ]);
  const known = { sha256: "cc", size_bytes: 3, sent: 1, bytes_sent: 3, trouble: "", url: null };
  await db.uploads.add(known);

  assert.equal(await takeUpFiles(), 2);

  assert.deepEqual(await filesToSend(), [{ sha256: "aa", size_bytes: 1 }]);
  assert.equal((await db.uploads.get("bb")).sent, 1);
  assert.deepEqual(await db.uploads.get("cc"), known);
  assert.equal(await takeUpFiles(), 0);
});
