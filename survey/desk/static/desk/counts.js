/* Keeps the counts of the queues true while a page stands open. Without this file they are those
   of when the page was loaded. */

const EVERY_MS = 30_000;
const address = document.querySelector("[data-counts]")?.dataset.counts;

/** Asks for the counts, and shows those that changed. Queues that are empty now count nothing. */
export async function counted() {
  try {
    const answer = await fetch(address, { headers: { Accept: "application/json" } });
    if (answer.redirected || !answer.ok) return;
    const numbers = await answer.json();
    for (const shown of document.querySelectorAll("[data-count]")) {
      const number = String(numbers[shown.dataset.count] ?? 0);
      if (shown.textContent !== number) shown.textContent = number;
    }
  } catch {
    // They are asked for again soon, and nothing was promised.
  }
}

if (address) {
  setInterval(() => document.hidden || counted(), EVERY_MS);
  document.addEventListener("visibilitychange", () => document.hidden || counted());
}
