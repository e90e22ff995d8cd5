/* A slider beside each weight, and the preview of who moves while they are tried.
   Without this file the numbers and the button "Show who moves" do the same. */

const form = document.getElementById("weights");
const shifts = document.getElementById("shifts");
const PAUSE_MS = 250;
let waiting = 0;
let asked = 0;

const weights = () => new URLSearchParams(
  [...form.querySelectorAll("input[type=number]")].map((input) => [input.name, input.value]),
);

async function preview() {
  asked += 1;
  const mine = asked;
  try {
    const answer = await fetch(`${form.dataset.preview}?${weights()}`);
    if (answer.redirected || !answer.ok) throw new Error(answer.statusText);
    const page = await answer.text();
    if (mine === asked) shifts.innerHTML = page;
  } catch {
    shifts.textContent =
      "The preview could not be fetched. Check the network, or load the page again.";
  }
}

function later() {
  clearTimeout(waiting);
  waiting = setTimeout(preview, PAUSE_MS);
}

for (const input of form.querySelectorAll("input[type=number]")) {
  const slider = document.createElement("input");
  slider.type = "range";
  slider.min = input.min;
  slider.max = input.max;
  slider.value = input.value;
  slider.setAttribute("aria-label", `${input.labels[0].textContent}, slider`);
  input.before(slider);
  slider.addEventListener("input", () => {
    input.value = slider.value;
    later();
  });
  input.addEventListener("input", () => {
    slider.value = input.value;
    later();
  });
}
