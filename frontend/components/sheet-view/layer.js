/** One photograph as it lies on the sheet, sharper where one looks closely. */

import { multiply } from "../../imaging/geometry.js";
import { html, useEffect, useLayoutEffect, useRef, useState } from "../../vendor/ui.js";
import { partOnShow, renderPart } from "./pictures.js";
import { matrixOf, transformOf } from "./view.js";

/** @import { Matrix } from "../../imaging/geometry.js" */
/** @import { Part, Photograph, Pictures, Rendition } from "./pictures.js" */
/** @import { Size, View } from "./view.js" */

/** A view that rests so long is looked at. */
const RESTS_AFTER_MS = 180;

/**
 * @typedef {object} LayerOnShow
 * @property {Photograph} photograph
 * @property {(rendition: Rendition) => Matrix} toMm  pixels of the upright original to mm
 * @property {Record<string, string | number>} [style]
 */

/**
 * @param {LayerOnShow & {pictures: Pictures, view: View, pane: Size,
 *   onLoad: (rendition: Rendition | null) => void}} props
 */
export function Layer({ photograph, toMm, pictures, view, pane, style = {}, onLoad }) {
  const [whole, setWhole] = useState(/** @type {Rendition | null} */ (null));
  const [part, setPart] = useState(/** @type {{canvas: HTMLCanvasElement, part: Part} | null} */ (null));
  useEffect(() => {
    let isGone = false;
    setWhole(null);
    setPart(null);
    pictures.whole(photograph).then((rendition) => {
      if (isGone) return;
      setWhole(rendition);
      onLoad(rendition);
    });
    return () => {
      isGone = true;
    };
  }, [photograph.id, pictures]);

  const toPane = whole && multiply(matrixOf(view, pane), toMm(whole));
  useEffect(() => {
    if (!whole || !toPane) return undefined;
    const wanted = partOnShow(toPane, pane, whole);
    if (!wanted) return void setPart(null);
    if (part && isWithin(wanted, part.part)) return undefined;
    const given = new AbortController();
    const timer = setTimeout(() => {
      renderPart(photograph, wanted, given.signal).then(
        (canvas) => {
          if (canvas && !given.signal.aborted) setPart({ canvas, part: wanted });
        },
        // The whole picture stays on show; the next look asks again.
        (error) => given.signal.aborted || console.warn(error),
      );
    }, RESTS_AFTER_MS);
    return () => {
      clearTimeout(timer);
      given.abort();
    };
  }, [whole, part, ...(toPane ?? [])]);

  if (!whole || !toPane) return null;
  const place = (/** @type {HTMLCanvasElement} */ { width, height }, /** @type {Omit<Part, "longest">} */ of) =>
    transformOf(multiply(toPane, [of.width / width, 0, of.x, 0, of.height / height, of.y, 0, 0, 1]));
  const all = { x: 0, y: 0, width: whole.width_px, height: whole.height_px };
  return html`<div class="sv-layer" style=${style}>
    <${Drawing} canvas=${whole.canvas} transform=${place(whole.canvas, all)} />
    ${part && html`<${Drawing} canvas=${part.canvas} transform=${place(part.canvas, part.part)} />`}
  </div>`;
}

/** Whether a part that is there is as fine as the one wanted, and holds all of it. */
function isWithin(/** @type {Part} */ wanted, /** @type {Part} */ there) {
  const fineness = (/** @type {Part} */ { width, height, longest }) => longest / Math.max(width, height);
  return (
    fineness(there) > 0.9 * fineness(wanted) &&
    there.x <= wanted.x &&
    there.y <= wanted.y &&
    there.x + there.width >= wanted.x + wanted.width &&
    there.y + there.height >= wanted.y + wanted.height
  );
}

/** A copy of a canvas: the same photograph may lie in two panes. */
function Drawing(/** @type {{canvas: HTMLCanvasElement, transform: string}} */ { canvas, transform }) {
  const own = useRef(/** @type {HTMLCanvasElement | null} */ (null));
  useLayoutEffect(() => {
    if (!own.current) return;
    own.current.width = canvas.width;
    own.current.height = canvas.height;
    own.current.getContext("2d")?.drawImage(canvas, 0, 0);
  }, [canvas]);
  return html`<canvas ref=${own} style=${{ transform }}></canvas>`;
}
