/* Shows how far a plan is while it is made, and lets a block be dragged to a person and a day:
   by mouse, pen or finger. The page does the same without this file: opening a block leads to a
   form of a person and a day, by keyboard too. */

import { carry } from "./carry.js";
import { tell, token } from "./told.js";

const EVERY_MS = 400;
const underWay = document.getElementById("under-way");

/** Follows the plan that is being made until ``isOver`` says that it is there. */
async function follow(isOver) {
  underWay.hidden = false;
  const step = underWay.querySelector(".step");
  const meter = underWay.querySelector("progress");
  while (!isOver()) {
    await new Promise((resolve) => setTimeout(resolve, EVERY_MS));
    try {
      const answer = await fetch(underWay.dataset.state, { headers: { Accept: "application/json" } });
      const state = await answer.json();
      if (state.state === "running" || state.state === "waiting") {
        if (state.progress > 0) meter.value = state.progress;
        if (state.step && state.step !== step.textContent) step.textContent = state.step;
      } else if (underWay.dataset.open !== undefined) {
        location.reload();
        return;
      }
    } catch {
      step.textContent = "The server does not answer just now. This page asks again by itself.";
    }
  }
}

/** Sends what makes a plan, and shows how far it is meanwhile. */
async function sent(address, given) {
  let isOver = false;
  underWay.querySelector(".step").textContent = "It begins";
  const following = follow(() => isOver);
  try {
    return await fetch(address, {
      method: "POST",
      body: given,
      headers: { Accept: "application/json" },
    });
  } finally {
    isOver = true;
    await following;
    underWay.hidden = true;
  }
}

for (const form of document.querySelectorAll("#make, .refits")) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    for (const button of document.querySelectorAll(".week-plan button")) button.disabled = true;
    try {
      const answer = await sent(form.action, new FormData(form));
      if (answer.ok) location.reload();
      else document.documentElement.innerHTML = await answer.text();
    } catch {
      tell("The server does not answer. Try again when the network is back.", true);
      for (const button of document.querySelectorAll(".week-plan button")) button.disabled = false;
    }
  });
}

if (underWay.dataset.open !== undefined) follow(() => false);

// Dragging.

const canPin = document.getElementById("make") !== null;

if (canPin) {
  for (const block of document.querySelectorAll(".block")) {
    const handle = document.createElement("span");
    handle.className = "handle";
    handle.setAttribute("aria-hidden", "true");
    handle.innerHTML =
      '<svg width="20" height="20" viewBox="0 0 24 24" fill="none" stroke="currentColor" stroke-width="2"><path d="M12 2v20M2 12h20M9 5l3-3 3 3M9 19l3 3 3-3M5 9l-3 3 3 3M19 9l3 3-3 3"/></svg>';
    block.append(handle);
    block.classList.add("has-handle");
    handle.addEventListener("pointerdown", (event) => drag(event, block, handle));
  }
}

function drag(start, block, handle) {
  if (start.button !== 0) return;
  start.preventDefault();
  const ghost = document.createElement("div");
  ghost.className = "ghost";
  ghost.textContent = block.dataset.block;
  document.body.append(ghost);
  block.classList.add("carried");
  let target = null;

  const show = ({ x, y }) => {
    ghost.style.left = `${x + 12}px`;
    ghost.style.top = `${y + 12}px`;
    const cell = document.elementFromPoint(x, y)?.closest("td[data-day][data-open]") ?? null;
    if (cell !== target) {
      target?.classList.remove("target");
      cell?.classList.add("target");
      target = cell;
      if (cell) tell(`${block.dataset.block}: ${cell.dataset.name}`);
    }
  };
  carry(start, handle, show, (isLetGo) => {
    ghost.remove();
    block.classList.remove("carried");
    target?.classList.remove("target");
    if (isLetGo && target) pin(block, target);
    else tell("Left where it was.");
  });
  show({ x: start.clientX, y: start.clientY });
}

async function pin(block, cell) {
  const given = new FormData();
  given.set("person", cell.dataset.person);
  given.set("day", cell.dataset.day);
  given.set("csrfmiddlewaretoken", token());
  tell(`${block.dataset.block}: pinned to ${cell.dataset.name}. Fitting the rest around it …`);
  try {
    const answer = await sent(block.dataset.pin, given);
    if (answer.ok) {
      location.reload();
      return;
    }
    const said = await answer.json();
    tell(said.problem ?? "The server did not take it. Load the page again and retry.", true);
  } catch {
    tell("The server does not answer. Nothing was pinned; try again when the network is back.", true);
  }
}
