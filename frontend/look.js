/* Runs before the first paint: sets the look the person chose, or the one the device prefers. */
{
  const root = document.documentElement;
  const preferred = () => (matchMedia("(prefers-color-scheme: dark)").matches ? "dim" : "light");
  root.dataset.look = localStorage.getItem("fieldleaf-look") ?? preferred();
  root.dataset.handed = localStorage.getItem("fieldleaf-handed") ?? "right";
}
