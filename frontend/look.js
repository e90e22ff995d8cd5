/* Runs before the first paint: sets the look the person chose, or the one the device prefers. */
{
  const root = document.documentElement;
  const prefersDark = matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.look = localStorage.getItem("fieldleaf-look") ?? (prefersDark ? "dim" : "light");
  root.dataset.handed = localStorage.getItem("fieldleaf-handed") ?? "right";
}
