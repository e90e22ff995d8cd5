/* Moves a row of a queue by its handle: dragged by mouse, pen or finger, or by the arrow keys;
   then asks why, and sends it. What is shown of a row's place changes once the server has taken
   it. Without this file the buttons below "Move" do the same. */

import { carry } from "./carry.js";
import { counted } from "./counts.js";
import { tell, token } from "./told.js";

const dialog = document.querySelector(".why-dialog");
let lastReason = "";

const rows = (list) => [...list.children];
const placeOf = (row) => Number(row.dataset.place);

/** Puts a handle into every row, after the rows came or came anew. */
function prepare() {
  const lists = document.querySelectorAll(".queue[data-movable]");
  for (const list of lists) {
    for (const row of rows(list)) {
      const handle = document.createElement("button");
      handle.type = "button";
      handle.className = "handle";
      handle.setAttribute("aria-describedby", "keys");
      handle.setAttribute("aria-label", `Move ${row.dataset.name}, place ${row.dataset.place}`);
      handle.innerHTML =
        '<svg width="24" height="24" viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2"><path d="M12 3v18M7 8l5-5 5 5M7 16l5 5 5-5"/></svg>';
      row.querySelector(".place").after(handle);
      handle.addEventListener("pointerdown", (event) => drag(event, list, row, handle));
      handle.addEventListener("keydown", (event) => key(event, list, row, handle));
      handle.addEventListener("blur", () => setTimeout(() => leave(list, row), 0));
    }
  }
  for (const form of document.querySelectorAll("form.mover")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const given = new FormData(form, event.submitter);
      // A step is a step, whatever stands in the field for the place.
      if (given.get("step")) given.delete("place");
      send(form.getAttribute("action"), given, form.closest("li")?.id, (problem) => {
        tell(problem, true);
      });
    });
  }
  const help = document.getElementById("keys");
  if (help) help.hidden = false;
}

// By pointer. The row stays until it is let go, for a touch ends with what it began on: a line
// shows where it would stand, and a word beside the pointer at which place.

function drag(start, list, row, handle) {
  if (start.button !== 0) return;
  start.preventDefault();
  handle.focus();
  const before = rows(list);
  const others = before.filter((one) => one !== row);
  const line = Object.assign(document.createElement("li"), { className: "drop-line" });
  const word = Object.assign(document.createElement("p"), { className: "drop-word" });
  line.setAttribute("aria-hidden", "true");
  word.setAttribute("aria-hidden", "true");
  document.body.append(word);
  row.classList.add("lifted");
  let to = before.indexOf(row);

  const show = ({ x, y }) => {
    to = others.filter((one) => {
      const box = one.getBoundingClientRect();
      return y > box.top + box.height / 2;
    }).length;
    const isMoved = to !== before.indexOf(row);
    if (!isMoved) line.remove();
    else if (line.nextElementSibling !== (others[to] ?? null) || !line.isConnected) {
      list.insertBefore(line, others[to] ?? null);
    }
    word.textContent = isMoved ? `To place ${placeAt(to, before, row)}` : "Where it was";
    word.style.left = `${x + 16}px`;
    word.style.top = `${y + 8}px`;
  };
  carry(start, handle, show, (isLetGo) => {
    line.remove();
    word.remove();
    row.classList.remove("lifted");
    if (!isLetGo || to === before.indexOf(row)) return;
    list.insertBefore(row, others[to] ?? null);
    ask(list, row, before);
  });
}

// By keys: the row moves in the list, and is set down by Enter.

const carried = new Map();

function key(event, list, row, handle) {
  const step = { ArrowUp: -1, ArrowDown: 1, Home: -Infinity }[event.key];
  if (step !== undefined) {
    event.preventDefault();
    if (!carried.has(row)) carried.set(row, rows(list));
    row.classList.add("lifted");
    const to = Math.max(0, Math.min(rows(list).length - 1, rows(list).indexOf(row) + step));
    const others = rows(list).filter((one) => one !== row);
    list.insertBefore(row, others[to] ?? null);
    handle.focus();
    row.scrollIntoView({ block: "nearest" });
    tell(`${row.dataset.name}: to place ${wanted(list, row, carried.get(row))}`);
  } else if (event.key === "Enter" && carried.has(row)) {
    event.preventDefault();
    const before = carried.get(row);
    carried.delete(row);
    row.classList.remove("lifted");
    ask(list, row, before);
  } else if (event.key === "Escape" && carried.has(row)) {
    event.preventDefault();
    put(list, row);
    handle.focus();
    tell("Left where it was.");
  }
}

/** Going elsewhere with the focus leaves the row where it was. */
function leave(list, row) {
  if (carried.has(row) && !row.contains(document.activeElement) && !dialog.open) put(list, row);
}

function put(list, row) {
  back(list, carried.get(row));
  carried.delete(row);
  row.classList.remove("lifted");
}

function back(list, before) {
  list.append(...before);
}

/** The place it would have where it stands in the list now. */
function wanted(list, row, before) {
  return placeAt(rows(list).indexOf(row), before, row);
}

/** The place of what stood there: with filters set, some between the rows are not shown. */
function placeAt(index, before, row) {
  return index === before.indexOf(row) ? placeOf(row) : placeOf(before[index]);
}

// Why, and off it goes.

function ask(list, row, before) {
  const place = wanted(list, row, before);
  if (place === placeOf(row)) return;
  const field = dialog.querySelector("input");
  const problem = dialog.querySelector(".problem");
  dialog.querySelector(".what").textContent =
    `${row.dataset.name}: from place ${row.dataset.place} to ${place}.`;
  field.value = lastReason;
  problem.textContent = "";
  const leaveIt = () => {
    finish();
    back(list, before);
    row.querySelector(".handle").focus();
    tell("Left where it was.");
  };
  const submit = async (event) => {
    if (event.submitter?.value !== "move") return leaveIt();
    event.preventDefault();
    lastReason = field.value;
    const given = new FormData();
    given.set("place", place);
    given.set("reason", field.value);
    given.set("csrfmiddlewaretoken", token());
    await send(row.dataset.act, given, row.id, (sentence) => {
      problem.textContent = sentence;
    }, finish);
  };
  const cancel = () => leaveIt();
  const form = dialog.querySelector("form");
  function finish() {
    form.removeEventListener("submit", submit);
    dialog.removeEventListener("cancel", cancel);
    if (dialog.open) dialog.close();
  }
  form.addEventListener("submit", submit);
  dialog.addEventListener("cancel", cancel);
  dialog.showModal();
  field.select();
}

async function send(address, given, id, refused, done = () => {}) {
  let said;
  try {
    const answer = await fetch(address, {
      method: "POST",
      body: given,
      headers: { Accept: "application/json" },
    });
    const told = answer.headers.get("Content-Type")?.includes("json") ? await answer.json() : null;
    if (!answer.ok || !told) {
      refused(told?.problem ?? "The server did not take it. Load the page again and retry.");
      return;
    }
    said = told.said;
  } catch {
    refused("The server does not answer. Nothing was moved; try again when the network is back.");
    return;
  }
  done();
  await renew(id);
  tell(said);
}

/** The rows as they stand now, without a new page. */
async function renew(id) {
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (answer.redirected || !answer.ok) throw new Error(answer.statusText);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.getElementById("rows").replaceWith(page.getElementById("rows"));
  } catch {
    location.reload();
    return;
  }
  prepare();
  counted();
  document.getElementById(id)?.querySelector(".handle")?.focus();
}

if (dialog) prepare();
