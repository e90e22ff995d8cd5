/* Puts the sheet view, which the tablet app has too, on the page of the lights. Without scripts
   the page lists the photographs instead. */

import { mount } from "/field/components/sheet-view/mount.js";

const given = (name) => JSON.parse(document.getElementById(`sheet-view-${name}`).textContent);
const place = document.getElementById("sheet-view");

if (place) {
  place.replaceChildren();
  mount(place, {
    photographs: given("photographs"),
    observations: given("observations"),
    lines: given("lines"),
    sheet: given("sheet"),
    mode: place.dataset.mode,
  });
}
