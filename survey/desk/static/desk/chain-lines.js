/* Chain lines on the picture: drag them, move them with the arrow keys, add one by a click.
   Without this file the numbers below do the same.

   [data-chain-lines] holds an svg over the picture, a list of rows (.chain-line: a number input in
   millimetres and a tick "take away") and a template for a new row. Its data: matrix (nine
   numbers, sheet mm to the drawing), angle (a of the lines x cos a + y sin a = offset, degrees),
   width and height (of the sheet, mm). */

const SVG = "http://www.w3.org/2000/svg";
const SMALL_MM = 0.1;
const LARGE_MM = 1;
/* Where along a line its number stands, and how large: as the page draws them. */
const LABEL_AT = 0.03;
const LABEL_SIZE = 0.022;

for (const editor of document.querySelectorAll("[data-chain-lines]")) start(editor);

function start(editor) {
  const drawn = editor.querySelector("svg");
  const list = editor.querySelector(".chain-rows");
  const template = editor.querySelector("template");
  const said = editor.querySelector("[role=status]");
  const onto = JSON.parse(editor.dataset.matrix);
  const back = inverse(onto);
  const angle = (Number(editor.dataset.angle) * Math.PI) / 180;
  const normal = [Math.cos(angle), Math.sin(angle)];
  const along = [-normal[1], normal[0]];
  const size = [Number(editor.dataset.width), Number(editor.dataset.height)];
  const viewed = [drawn.viewBox.baseVal.width, drawn.viewBox.baseVal.height];
  const layer = document.createElementNS(SVG, "g");
  for (const still of drawn.querySelectorAll(".chain")) still.remove();
  drawn.append(layer);
  drawn.removeAttribute("role");
  let adding = false;

  const toggle = editor.querySelector("[data-add]");
  toggle.hidden = false;
  toggle.addEventListener("click", () => setAdding(!adding));
  drawn.addEventListener("click", (event) => {
    if (!adding) return;
    const offset = offsetAt(event);
    if (!endsOf(offset)) {
      say("This place is beside the sheet: click on the sheet itself.");
      return;
    }
    const input = addRow(offset);
    setAdding(false);
    draw();
    layer.querySelector(`[data-key="${input.dataset.key}"]`)?.focus();
    say(`Added a chain line at ${input.value} mm.`);
  });
  list.addEventListener("input", draw);
  list.addEventListener("change", draw);
  let keys = -1;
  for (const input of inputs()) input.dataset.key = String((keys += 1));
  draw();

  function inputs() {
    return [...list.querySelectorAll("input[type=number]")];
  }

  function isAway(input) {
    return input.closest(".chain-line").querySelector("input[type=checkbox]")?.checked ?? false;
  }

  function addRow(offset) {
    const row = template.content.cloneNode(true);
    const input = row.querySelector("input[type=number]");
    input.value = offset.toFixed(2);
    input.dataset.key = String((keys += 1));
    for (const part of row.querySelectorAll("[id], [for]")) {
      for (const name of ["id", "for", "name"]) {
        const told = part.getAttribute(name);
        if (told) part.setAttribute(name, told.replace(/\d+$/, input.dataset.key));
      }
    }
    list.append(row);
    return input;
  }

  function setAdding(wanted) {
    adding = wanted;
    toggle.setAttribute("aria-pressed", String(adding));
    drawn.classList.toggle("adding", adding);
    if (adding) say("Click the picture where the missing chain line runs.");
  }

  function say(words) {
    said.textContent = words;
  }

  function draw() {
    const focused = document.activeElement?.dataset?.key;
    layer.replaceChildren();
    for (const [place, input] of inputs().entries()) {
      const ends = input.value === "" ? null : endsOf(Number(input.value));
      if (!ends) continue;
      const group = document.createElementNS(SVG, "g");
      group.setAttribute("class", isAway(input) ? "chain away" : "chain");
      group.setAttribute("role", "slider");
      group.setAttribute("tabindex", "0");
      group.setAttribute("aria-label", `Chain line ${place + 1}`);
      group.setAttribute("aria-valuenow", input.value);
      group.setAttribute("aria-valuetext", `${input.value} mm`);
      group.setAttribute("aria-valuemin", "0");
      group.setAttribute("aria-valuemax", String(Math.hypot(...size)));
      group.dataset.key = input.dataset.key;
      for (const kind of ["grip", "halo", "core"]) {
        const line = document.createElementNS(SVG, "line");
        line.setAttribute("class", kind);
        ["x1", "y1", "x2", "y2"].forEach((name, axis) => line.setAttribute(name, ends[axis]));
        group.append(line);
      }
      const label = document.createElementNS(SVG, "text");
      label.setAttribute("x", String(ends[0] + LABEL_AT * (ends[2] - ends[0])));
      label.setAttribute("y", String(ends[1] + LABEL_AT * (ends[3] - ends[1])));
      label.setAttribute("font-size", String(LABEL_SIZE * Math.max(...viewed)));
      label.textContent = String(place + 1);
      group.append(label);
      group.addEventListener("keydown", (event) => nudge(event, input));
      group.addEventListener("pointerdown", (event) => drag(event, input));
      layer.append(group);
      if (focused === input.dataset.key && document.activeElement !== input) group.focus();
    }
  }

  function nudge(event, input) {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (by) {
      event.preventDefault();
      put(input, Number(input.value) + by * (event.shiftKey ? LARGE_MM : SMALL_MM));
    } else if (event.key === "Delete") {
      const tick = input.closest(".chain-line").querySelector("input[type=checkbox]");
      tick.checked = !tick.checked;
      draw();
      say(tick.checked ? "Taken away. Delete again brings it back." : "Brought back.");
    }
  }

  function put(input, offset) {
    input.value = offset.toFixed(2);
    draw();
  }

  function drag(event, input) {
    if (adding) return;
    event.preventDefault();
    const grabbed = offsetAt(event) - Number(input.value);
    drawn.setPointerCapture(event.pointerId);
    layer.querySelector(`[data-key="${input.dataset.key}"]`)?.focus();
    const follow = (moved) => put(input, offsetAt(moved) - grabbed);
    drawn.addEventListener("pointermove", follow);
    drawn.addEventListener(
      "lostpointercapture",
      () => drawn.removeEventListener("pointermove", follow),
      { once: true },
    );
  }

  /** How far along the normal of the chain lines a place of the window lies, in millimetres. */
  function offsetAt(event) {
    const frame = drawn.getBoundingClientRect();
    const box = drawn.viewBox.baseVal;
    const [x, y] = through(back, [
      ((event.clientX - frame.left) / frame.width) * box.width,
      ((event.clientY - frame.top) / frame.height) * box.height,
    ]);
    return x * normal[0] + y * normal[1];
  }

  /** Where a line at this offset enters and leaves the sheet, in the drawing; null off it. */
  function endsOf(offset) {
    let [first, last] = [-Infinity, Infinity];
    for (const axis of [0, 1]) {
      const foot = offset * normal[axis];
      if (Math.abs(along[axis]) < 1e-9) {
        if (foot < 0 || foot > size[axis]) return null;
        continue;
      }
      const steps = [-foot / along[axis], (size[axis] - foot) / along[axis]];
      first = Math.max(first, Math.min(...steps));
      last = Math.min(last, Math.max(...steps));
    }
    if (first >= last) return null;
    return [first, last].flatMap((step) =>
      through(
        onto,
        [0, 1].map((axis) => offset * normal[axis] + step * along[axis]),
      ),
    );
  }
}

function through([a, b, c, d, e, f, g, h, i], [x, y]) {
  const scale = g * x + h * y + i;
  return [(a * x + b * y + c) / scale, (d * x + e * y + f) / scale];
}

function inverse([a, b, c, d, e, f, g, h, i]) {
  const adjugate = [
    e * i - f * h, c * h - b * i, b * f - c * e,
    f * g - d * i, a * i - c * g, c * d - a * f,
    d * h - e * g, b * g - a * h, a * e - b * d,
  ];
  const determinant = a * adjugate[0] + b * adjugate[3] + c * adjugate[6];
  return adjugate.map((one) => one / determinant);
}
