/**
 * Rebuilds the libraries in this folder from node_modules: one minified ES module for each
 * bundle, the licence of every package inside it, and VERSIONS.json with checksums.
 *
 * Run `npm ci` first, then `npm run vendor`. The output is committed, so that running the app
 * needs neither npm nor a network. Versions are chosen in package.json and nowhere else.
 */

import { build } from "esbuild";
import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const folder = dirname(fileURLToPath(import.meta.url));
const root = dirname(folder);

/** What each bundle exports, as the source of a module. The .d.ts beside it says the same. */
const BUNDLES = {
  "ui.js": `
    export { h, render, Fragment, createContext } from "preact";
    export { useEffect, useLayoutEffect, useRef, useState, useMemo, useCallback, useContext,
      useErrorBoundary } from "preact/hooks";
    export { signal, computed, effect, batch, useSignal, useComputed, useSignalEffect }
      from "@preact/signals";
    export { html } from "htm/preact";
  `,
  "dexie.js": `export { default, liveQuery } from "dexie";`,
  "tus.js": `export { Upload } from "tus-js-client";`,
  "zip.js": `export { makeZip } from "client-zip";`,
  "qr.js": `export { default } from "jsqr";`,
};

/** The packages whose code ended up in a bundle, by the paths esbuild read. */
function packagesIn(inputs) {
  const names = Object.keys(inputs)
    .map((path) => /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(path)?.[1])
    .filter((name) => name !== undefined);
  return [...new Set(names)].sort();
}

async function licenceText(name) {
  const home = join(root, "node_modules", name);
  const found = (await readdir(home)).filter((file) => /^(licen[cs]e|notice)/i.test(file)).sort();
  if (found.length === 0) throw new Error(`${name} has no licence file: it cannot be vendored.`);
  const texts = await Promise.all(found.map((file) => readFile(join(home, file), "utf8")));
  return texts.map((text) => text.trim()).join("\n\n") + "\n";
}

async function describe(name) {
  const facts = JSON.parse(await readFile(join(root, "node_modules", name, "package.json"), "utf8"));
  const file = `licences/${name.replace("/", "-").replace("@", "")}.txt`;
  await writeFile(join(folder, file), await licenceText(name));
  return { name, version: facts.version, licence: facts.license, licence_file: file };
}

await rm(join(folder, "licences"), { recursive: true, force: true });
await mkdir(join(folder, "licences"));
const versions = {};
for (const [file, contents] of Object.entries(BUNDLES)) {
  const result = await build({
    stdin: { contents, resolveDir: root },
    bundle: true,
    minify: true,
    write: false,
    metafile: true,
    format: "esm",
    platform: "browser",
    target: "es2022",
    legalComments: "none",
  });
  const packages = [];
  for (const name of packagesIn(result.metafile.inputs)) packages.push(await describe(name));
  const listed = packages.map((each) => `${each.name} ${each.version} (${each.licence})`);
  const text = `/* ${listed.join(", ")}; texts in licences/ */\n${result.outputFiles[0].text}`;
  await writeFile(join(folder, file), text);
  versions[file] = { sha256: createHash("sha256").update(text).digest("hex"), packages };
}
await writeFile(join(folder, "VERSIONS.json"), JSON.stringify(versions, null, 2) + "\n");
