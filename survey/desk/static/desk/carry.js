/* Follows what is carried by its handle, by mouse, pen or finger. Near the edge of the window the
   page rolls on under it. */

const EDGE_PX = 80;
const ROLL_PX = 14;

/** Calls ``moved`` with the place in the window after each move and each roll, then ``end`` once:
    with true when it is let go, with false when it is left by Escape or taken away. */
export function carry(start, handle, moved, end) {
  handle.setPointerCapture(start.pointerId);
  const stop = new AbortController();
  let at = { x: start.clientX, y: start.clientY };
  let rolling = 0;

  const roll = () => {
    const by = at.y < EDGE_PX ? -ROLL_PX : at.y > innerHeight - EDGE_PX ? ROLL_PX : 0;
    if (by) {
      scrollBy(0, by);
      moved(at);
    }
    rolling = requestAnimationFrame(roll);
  };
  const finish = (isLetGo) => {
    cancelAnimationFrame(rolling);
    stop.abort();
    end(isLetGo);
  };
  const listen = (target, name, heard) => target.addEventListener(name, heard, { signal: stop.signal });
  listen(handle, "pointermove", (event) => {
    at = { x: event.clientX, y: event.clientY };
    moved(at);
  });
  listen(handle, "pointerup", () => finish(true));
  listen(handle, "pointercancel", () => finish(false));
  listen(window, "keydown", (event) => {
    if (event.key === "Escape") finish(false);
  });
  rolling = requestAnimationFrame(roll);
}
