import assert from "node:assert/strict";
import { test } from "node:test";

import { fold } from "../../frontend/store/fold.js";
import { findIn, indexOf } from "../../frontend/store/search.js";

const LOCATIONS = [
  { id: "s", parent: null, kind: "site", name: "North store", order: 0 },
  { id: "r", parent: "s", kind: "room", name: "Room 2", order: 0 },
];

function object(accession_number, title, maker = "", location = null) {
  return { id: accession_number, accession_number, title, maker, location, off_site_place: "" };
}

const INDEX = indexOf(
  [
    object("PE.1923.10", "Harbour at dusk", "Élise Ørnskov", "r"),
    object("PE.1923.4", "Study of a heron", "Tomas Vell"),
    object("PE.2001.1923", "Étude", "Tomas Vell", "r"),
  ],
  LOCATIONS,
);

function find(text, limit = 10) {
  return findIn(INDEX, text, limit).map((row) => row.accession_number);
}

test("text is searched without accents, capitals and marks", () => {
  assert.deepEqual(fold("Élise ØRNSKOV’s “Étude”, 1923.4"), [
    "elise",
    "ornskov",
    "s",
    "etude",
    "1923",
    "4",
  ]);
});

test("every word must begin some word of number, title, maker or place", () => {
  assert.deepEqual(find("etu"), ["PE.2001.1923"]);
  assert.deepEqual(find("tomas her"), ["PE.1923.4"]);
  assert.deepEqual(find("ROOM 2 north"), ["PE.1923.10", "PE.2001.1923"]);
  assert.deepEqual(find("udy"), []);
});

test("accession numbers that begin so come first, in their own order", () => {
  assert.deepEqual(find("1923"), ["PE.1923.4", "PE.1923.10", "PE.2001.1923"]);
  assert.deepEqual(find("pe 2001"), ["PE.2001.1923"]);
  assert.deepEqual(find("pe1923.1")[0], "PE.1923.10");
});

test("it finds among 2,000 objects well within a frame", () => {
  const many = Array.from({ length: 2000 }, (_, n) =>
    object(`PE.${1900 + (n % 100)}.${n}`, `Sheet number ${n} with a longer title`, "Tomas Vell", "r"),
  );
  const index = indexOf(many, LOCATIONS);
  for (const text of ["s", "sh", "she", "sheet 19", "vell room", "1950"]) {
    // The fastest of several: a busy machine may halt any one of them.
    const times = Array.from({ length: 9 }, () => {
      const start = performance.now();
      findIn(index, text, 50);
      return performance.now() - start;
    });
    assert.ok(Math.min(...times) < 16, `“${text}” takes longer than a frame of 16 ms`);
  }
});
