import assert from "node:assert/strict";
import { test } from "node:test";

import { placesOf } from "../../frontend/store/locations.js";

function place(id, parent, name, order = 0) {
  return { id, revision: 1, parent, kind: "shelf", name, order };
}

const PLACES = placesOf([
  place("s10", "room", "Shelf 10"),
  place("s2", "room", "Shelf 2"),
  place("door", "room", "By the door", -1),
  place("room", "site", "Room 1"),
  place("site", null, "North store"),
  place("lost", "not-carried", "Crate room"),
]);

test("siblings stand in the order of the walk, then by name with numbers as numbers", () => {
  assert.deepEqual(
    PLACES.under("room").map((row) => row.id),
    ["door", "s2", "s10"],
  );
});

test("a path reads from the site down", () => {
  assert.equal(PLACES.words("s2"), "North store › Room 1 › Shelf 2");
  assert.equal(PLACES.words(null), "");
  assert.equal(PLACES.words("nowhere"), "");
});

test("a place whose parent is not carried can still be reached, from the top", () => {
  assert.deepEqual(
    PLACES.under(null).map((row) => row.id),
    ["lost", "site"],
  );
  assert.equal(PLACES.words("lost"), "Crate room");
});

test("a tree that bites its own tail still ends", () => {
  const ring = placesOf([place("a", "b", "A"), place("b", "a", "B")]);
  assert.equal(ring.words("a"), "B › A");
});
