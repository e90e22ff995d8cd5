/* Signatures drawn with mouse, pen or finger, for every .sign-pad of the page. Without this file
   the field is not shown, and the name alone can sign.

   A pad holds an svg, a hidden input that takes the strokes as JSON ([[[x, y], …], …], thousandths
   of the svg's width), a button that clears it, and a tick that says: by name alone. */

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 1000;
/* As many as the server takes. */
const MOST_STROKES = 500;
const MOST_POINTS = 20_000;

for (const pad of document.querySelectorAll(".sign-pad")) start(pad);

function start(pad) {
  const field = pad.querySelector("svg");
  const input = pad.querySelector("input[type=hidden]");
  const byName = pad.closest("fieldset").querySelector("input[type=checkbox]");
  const said = pad.querySelector("[role=status]");
  const strokes = JSON.parse(input.value || "[]");
  let stroke = null;
  let pointer = null;

  field.addEventListener("pointerdown", (event) => {
    if (pointer !== null || event.button !== 0 || strokes.length >= MOST_STROKES) return;
    event.preventDefault();
    pointer = event.pointerId;
    field.setPointerCapture(pointer);
    stroke = [];
    strokes.push(stroke);
    extend(event);
  });
  field.addEventListener("pointermove", (event) => {
    if (event.pointerId === pointer) extend(event);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    field.addEventListener(name, (event) => {
      if (event.pointerId !== pointer) return;
      pointer = null;
      keep();
    });
  }
  pad.querySelector("button").addEventListener("click", () => {
    strokes.length = 0;
    keep();
  });
  byName.addEventListener("change", tell);
  pad.hidden = false;
  keep();

  function extend(event) {
    const box = field.getBoundingClientRect();
    const passed = event.getCoalescedEvents?.() ?? [];
    for (const each of passed.length ? passed : [event]) {
      const x = within(((each.clientX - box.left) / box.width) * WIDTH, WIDTH);
      const y = within(((each.clientY - box.top) / box.width) * WIDTH, lowest());
      const last = stroke.at(-1);
      if (strokes.flat().length < MOST_POINTS && !(last && last[0] === x && last[1] === y)) {
        stroke.push([x, y]);
      }
    }
    draw();
  }

  function lowest() {
    return field.viewBox.baseVal.height;
  }

  function keep() {
    input.value = strokes.length ? JSON.stringify(strokes) : "";
    draw();
    tell();
  }

  function draw() {
    for (const line of field.querySelectorAll(".stroke")) line.remove();
    for (const points of strokes) {
      const line = document.createElementNS(SVG, "path");
      const [[x, y], ...others] = points;
      // A tap that did not move is a dot.
      const rest = others.length ? others.map(([px, py]) => `L${px} ${py}`).join("") : "h0";
      line.setAttribute("d", `M${x} ${y}${rest}`);
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

function within(value, most) {
  return Math.round(Math.min(Math.max(value, 0), most));
}
