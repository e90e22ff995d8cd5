/* What a page says of what was just done, in its place for that, and the token for doing it. */

const told = document.getElementById("told");

/** A problem is shown; all else is read out only, for the page shows it. */
export function tell(sentence, isProblem = false) {
  told.classList.toggle("visually-hidden", !isProblem);
  told.classList.toggle("problem-box", isProblem);
  told.textContent = sentence;
  if (isProblem) told.scrollIntoView({ block: "nearest" });
}

export function token() {
  return document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
}
