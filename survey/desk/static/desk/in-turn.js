/* Shows the earlier and the later picture in the same place: one after the other, at a person's
   word. Never faster than once a second, and not by itself for those who asked their device for
   less motion: they change pictures by hand. Without this file the page shows the earlier one. */

const EVERY_MS = 1600;

for (const figure of document.querySelectorAll(".in-turn")) start(figure);

function start(figure) {
  const bar = figure.parentElement.querySelector(".in-turn-bar");
  const [swap, run, outlines] = ["swap", "run", "outlines"].map((name) =>
    bar.querySelector(`[data-do="${name}"]`),
  );
  const pictures = [...figure.querySelectorAll("img")];
  const drawn = figure.querySelector("svg");
  const said = figure.querySelector(".in-turn-said");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let timer = 0;

  const change = () => {
    const [, later] = pictures;
    later.hidden = !later.hidden;
    said.textContent = pictures[later.hidden ? 0 : 1].dataset.name;
  };
  const stop = () => {
    clearInterval(timer);
    timer = 0;
    said.setAttribute("role", "status");
    run.setAttribute("aria-pressed", "false");
    run.textContent = "Show them in turn";
  };
  const go = () => {
    // A screen reader need not hear each turn.
    said.removeAttribute("role");
    timer = setInterval(change, EVERY_MS);
    run.setAttribute("aria-pressed", "true");
    run.textContent = "Stop";
  };
  const obey = () => {
    if (calm.matches) stop();
    run.hidden = calm.matches;
  };

  swap.addEventListener("click", () => {
    stop();
    change();
  });
  run.addEventListener("click", () => (timer ? stop() : go()));
  outlines?.addEventListener("click", () => {
    drawn.toggleAttribute("hidden");
    outlines.setAttribute("aria-pressed", String(!drawn.hasAttribute("hidden")));
  });
  calm.addEventListener("change", obey);
  document.addEventListener("visibilitychange", () => document.hidden && stop());
  obey();
  bar.hidden = false;
}
