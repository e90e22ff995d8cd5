/* Follows a reading or a report that is being made, and loads the page again when it is done.
   Without this file the page says the same, and "Look again" loads it by hand. */

const EVERY_MS = 1500;
const LONGEST_MS = 15_000;
const followed = [...document.querySelectorAll("[data-reading]")];
let pause = EVERY_MS;

async function look() {
  try {
    const states = await Promise.all(followed.map(stateOf));
    pause = EVERY_MS;
    if (states.some((state) => state === "done" || state === "failed")) {
      location.reload();
      return;
    }
  } catch {
    pause = Math.min(pause * 2, LONGEST_MS);
    for (const each of followed) {
      each.querySelector(".step").textContent =
        "The server does not answer just now. This page asks again by itself.";
    }
  }
  setTimeout(look, pause);
}

/** Asks for one of them, and shows how far it is. */
async function stateOf(element) {
  const answer = await fetch(element.dataset.reading, { headers: { Accept: "application/json" } });
  if (answer.redirected || !answer.ok) throw new Error(answer.statusText);
  const made = await answer.json();
  const meter = element.querySelector("progress");
  if (made.progress > 0) meter.value = made.progress;
  const step = element.querySelector(".step");
  if (made.step && step.textContent !== made.step) step.textContent = made.step;
  return made.state;
}

if (followed.length) setTimeout(look, EVERY_MS);
