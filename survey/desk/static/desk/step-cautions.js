/* Shows the cautions of the kind of step that is chosen. Without this file all of them stand
   there, each with its name. */

const kind = document.querySelector("#id_kind");
const place = document.querySelector("#step-cautions");

function show() {
  let shown = 0;
  for (const caution of place.querySelectorAll("[data-kinds]")) {
    caution.hidden = !caution.dataset.kinds.split(" ").includes(kind.value);
    if (!caution.hidden) shown += 1;
  }
  place.hidden = shown === 0;
}

place.querySelector("[data-all]").textContent = "Local rules and safety data sheets come first.";
kind.addEventListener("change", show);
show();
