import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const folder = new URL("../../frontend/vendor/", import.meta.url);
const read = (/** @type {string} */ name) => readFileSync(new URL(name, folder));
const versions = JSON.parse(read("VERSIONS.json").toString());
const wanted = JSON.parse(read("../package.json").toString()).dependencies;

test("each vendored file is the one that VERSIONS.json names", () => {
  for (const [file, { sha256 }] of Object.entries(versions)) {
    assert.equal(createHash("sha256").update(read(file)).digest("hex"), sha256, file);
  }
});

test("each library in package.json is vendored in its version, with its licence", () => {
  const packages = Object.values(versions).flatMap((each) => each.packages);
  for (const [name, version] of Object.entries(wanted)) {
    assert.equal(packages.find((each) => each.name === name)?.version, version, name);
  }
  for (const { name, licence, licence_file } of packages) {
    assert.ok(licence, name);
    assert.ok(read(licence_file).length > 500, name);
  }
});

test("the lock file names no registry", () => {
  assert.doesNotMatch(read("../package-lock.json").toString(), /"resolved"/);
});
