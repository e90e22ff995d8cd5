/* Signatures drawn with mouse, pen or finger, for every .sign-pad of the page. Without this file
   the field is not shown, and the name alone can sign.

   A pad holds an svg, a hidden input that takes the strokes as JSON ([[[x, y], …], …], thousandths
   of the svg's width), a button that clears it, and a tick that says: by name alone. */

import { followHand, pathOf } from "/field/components/sign/drawing.js";

const SVG = "http://www.w3.org/2000/svg";

for (const pad of document.querySelectorAll(".sign-pad")) start(pad);

function start(pad) {
  const field = pad.querySelector("svg");
  const input = pad.querySelector("input[type=hidden]");
  const byName = pad.closest("fieldset").querySelector("input[type=checkbox]");
  const said = pad.querySelector("[role=status]");
  const strokes = JSON.parse(input.value || "[]");
  let underWay = [];

  followHand(field, {
    before: () => strokes,
    grown(stroke) {
      underWay = stroke;
      draw();
    },
    drawn(stroke) {
      strokes.push(stroke);
      keep();
    },
  });
  pad.querySelector("button").addEventListener("click", () => {
    strokes.length = 0;
    keep();
  });
  byName.addEventListener("change", tell);
  pad.hidden = false;
  keep();

  function keep() {
    input.value = strokes.length ? JSON.stringify(strokes) : "";
    draw();
    tell();
  }

  function draw() {
    for (const line of field.querySelectorAll(".stroke")) line.remove();
    for (const points of [...strokes, underWay].filter((each) => each.length)) {
      const line = document.createElementNS(SVG, "path");
      line.setAttribute("d", pathOf(points));
      line.setAttribute("class", "stroke");
      field.append(line);
    }
  }

  function tell() {
    pad.classList.toggle("is-off", byName.checked);
    said.textContent = byName.checked
      ? "The name alone signs; nothing drawn here counts."
      : strokes.length
        ? "Signed. Clear the field to sign again."
        : "Sign here with mouse, pen or finger.";
  }
}
