/** A photograph that is placed on the sheet, with all that is outlined and measured on its side. */

import { html, useMemo, useState } from "../../../vendor/ui.js";
import { Pane } from "../../sheet-view/pane.js";
import { openPictures } from "../../sheet-view/pictures.js";
import { asPhotograph, outlinesOf, sheetData } from "./data.js";

/** @import { ExaminationRow, PhotographRow } from "../../../store/types.js" */
/** @import { View } from "../../sheet-view/view.js" */

/** @param {{held: import("../held.js").Held, photograph: PhotographRow}} props */
export function PlacedPicture({ held, photograph }) {
  const pictures = useMemo(() => openPictures(), []);
  const shown = useMemo(() => asPhotograph(photograph), [photograph.id, photograph.homography]);
  const [view, setView] = useState(/** @type {View | null} */ (null));
  const data = sheetData({
    examination: /** @type {ExaminationRow} */ (held.examination.value),
    photographs: held.photographs.value,
    observations: held.observations.value,
    measurements: held.measurements.value,
  });
  const sheet = data.sheet ?? { width_mm: 1, height_mm: 1 };
  return html`<div class="stage-picture">
    <${Pane}
      label=${`${shown.name}. Arrow keys move, plus and minus enlarge.`}
      words=${[]}
      layers=${[{ photograph: shown, toMm: () => photograph.homography }]}
      outlines=${outlinesOf(data, photograph)}
      view=${view}
      onView=${setView}
      bounds=${{ left: 0, top: 0, right: sheet.width_mm, bottom: sheet.height_mm }}
      pictures=${pictures}
      hasScale
      hasButtons
    />
  </div>`;
}
