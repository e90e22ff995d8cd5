/* Points on a photograph by click, finger or arrow keys, for every .picker of the page.
   Without this file the numbers below the photograph do the same.

   A picker holds the picture (img, with data-width and data-height: its full size in pixels),
   and a fieldset.point for each point, with two number inputs: across and down, in those pixels.
   With data-outline the points are joined to a closed outline, otherwise in order. */

const SVG = "http://www.w3.org/2000/svg";
const CLOSEST = 16;
/* Of the window's height; as lights.css has it. */
const VIEW_SHARE = 0.7;
const STEP = 1.5;
const SMALL_PX = 1;
const LARGE_PX = 10;
const ARROWS = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

for (const picker of document.querySelectorAll(".picker")) start(picker);

function start(picker) {
  const view = picker.querySelector(".picker-view");
  const image = view.querySelector("img");
  const size = [Number(image.dataset.width), Number(image.dataset.height)];
  const points = [...picker.querySelectorAll("fieldset.point")].map((field, place) =>
    pointOf(field, place),
  );
  const sheet = document.createElement("div");
  sheet.className = "picker-sheet";
  image.before(sheet);
  sheet.append(image);
  const drawn = document.createElementNS(SVG, "svg");
  drawn.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
  drawn.setAttribute("preserveAspectRatio", "none");
  drawn.setAttribute("aria-hidden", "true");
  const outline = document.createElementNS(
    SVG,
    "outline" in picker.dataset ? "polygon" : "polyline",
  );
  drawn.append(outline);
  sheet.append(drawn);
  for (const point of points) sheet.append(point.handle);

  const said = document.createElement("p");
  said.setAttribute("role", "status");
  said.className = "picker-said";
  const bar = document.createElement("div");
  bar.className = "picker-bar";
  let zoom = 1;
  let active = points.find((point) => !point.isSet()) ?? points[0];

  bar.append(
    button("Closer", () => setZoom(zoom * STEP)),
    button("Further away", () => setZoom(zoom / STEP)),
    button("Whole photograph", () => setZoom(1)),
    button("Put the point in the middle of the view", () => {
      const frame = view.getBoundingClientRect();
      set(frame.left + view.clientWidth / 2, frame.top + view.clientHeight / 2);
    }),
  );
  view.before(said, bar);
  view.tabIndex = 0;
  view.setAttribute("role", "group");
  view.setAttribute("aria-label", `${image.alt}. Scroll with the arrow keys when it is close.`);

  for (const point of points) {
    point.handle.addEventListener("focus", () => choose(point));
    point.handle.addEventListener("click", (event) => event.stopPropagation());
    point.handle.addEventListener("keydown", (event) => nudge(event, point));
    point.handle.addEventListener("pointerdown", (event) => drag(event, point));
    point.field.addEventListener("focusin", () => choose(point));
    point.field.addEventListener("input", draw);
  }
  sheet.addEventListener("click", (event) => set(event.clientX, event.clientY));
  picker.classList.add("picker-ready");
  choose(active);
  fit();
  addEventListener("resize", fit);
  draw();

  /** The active point, at a place of the window; then the next one without a place. */
  function set(left, top) {
    const frame = sheet.getBoundingClientRect();
    move(active, [
      ((left - frame.left) / frame.width) * size[0],
      ((top - frame.top) / frame.height) * size[1],
    ]);
    choose(points.find((point) => !point.isSet()) ?? active);
  }

  function move(point, [x, y]) {
    const at = [Math.min(Math.max(x, 0), size[0]), Math.min(Math.max(y, 0), size[1])];
    point.inputs.forEach((input, axis) => {
      input.value = at[axis].toFixed(1);
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
    draw();
  }

  function choose(point) {
    active = point;
    for (const other of points) {
      other.field.classList.toggle("point-active", other === point);
      other.handle.classList.toggle("handle-active", other === point);
    }
    const waits = points.filter((other) => !other.isSet()).length;
    said.textContent = point.isSet()
      ? `${point.name}: click its place, drag it, or move it with the arrow keys.${waits ? "" : " All points are set."}`
      : `${point.name}: click its place on the photograph.`;
  }

  function nudge(event, point) {
    const arrow = ARROWS[event.key];
    if (!arrow) return;
    event.preventDefault();
    const by = event.shiftKey ? LARGE_PX : SMALL_PX;
    move(point, point.at().map((value, axis) => value + arrow[axis] * by));
  }

  function drag(event, point) {
    event.preventDefault();
    point.handle.focus();
    point.handle.setPointerCapture(event.pointerId);
    const follow = (moved) => {
      const frame = sheet.getBoundingClientRect();
      move(point, [
        ((moved.clientX - frame.left) / frame.width) * size[0],
        ((moved.clientY - frame.top) / frame.height) * size[1],
      ]);
    };
    point.handle.addEventListener("pointermove", follow);
    point.handle.addEventListener(
      "lostpointercapture",
      () => point.handle.removeEventListener("pointermove", follow),
      { once: true },
    );
  }

  function setZoom(wanted) {
    const before = zoom;
    zoom = Math.min(Math.max(wanted, 1), CLOSEST);
    const middle = [
      view.scrollLeft + view.clientWidth / 2,
      view.scrollTop + view.clientHeight / 2,
    ];
    fit();
    if (zoom > 1 && image.dataset.original && image.src !== image.dataset.original) {
      image.src = image.dataset.original;
      delete image.dataset.original;
    }
    view.scrollLeft = (middle[0] * zoom) / before - view.clientWidth / 2;
    view.scrollTop = (middle[1] * zoom) / before - view.clientHeight / 2;
  }

  /** At zoom 1 the whole photograph is in view. */
  function fit() {
    const whole = Math.min(view.clientWidth, (innerHeight * VIEW_SHARE * size[0]) / size[1]);
    sheet.style.width = `${whole * zoom}px`;
  }

  function draw() {
    const set = points.filter((point) => point.isSet());
    outline.setAttribute("points", set.map((point) => point.at().join(",")).join(" "));
    for (const point of points) {
      point.handle.hidden = !point.isSet();
      if (!point.isSet()) continue;
      const [x, y] = point.at();
      point.handle.style.left = `${(100 * x) / size[0]}%`;
      point.handle.style.top = `${(100 * y) / size[1]}%`;
      point.handle.setAttribute(
        "aria-label",
        `${point.name}: ${x.toFixed(0)} pixels across, ${y.toFixed(0)} down. Arrow keys move it.`,
      );
    }
  }
}

function pointOf(field, place) {
  const inputs = [...field.querySelectorAll("input")];
  const handle = document.createElement("button");
  handle.type = "button";
  handle.className = "handle";
  handle.textContent = String(place + 1);
  return {
    field,
    inputs,
    handle,
    name: field.querySelector("legend").textContent.trim(),
    isSet: () => inputs.every((input) => input.value !== ""),
    at: () => inputs.map((input) => Number(input.value)),
  };
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}
