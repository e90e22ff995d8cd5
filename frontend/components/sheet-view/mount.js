/**
 * Puts the sheet view into any page, the desk's too. It brings its own style sheet and needs only
 * the tokens; it shares no module with the tablet app's first screens, so that a page which mounts
 * it does not start the app.
 */

import { html, render } from "../../vendor/ui.js";
import { SheetView } from "./sheet-view.js";
import { SHEET_VIEW, styled } from "./styled.js";

/**
 * @param {HTMLElement} element  filled by the view; give it a height
 * @param {import("./sheet-view.js").Data} data
 * @returns {{update: (data: import("./sheet-view.js").Data) => void, unmount: () => void}}
 */
export function mount(element, data) {
  let isGone = false;
  let latest = data;
  const draw = () => isGone || render(html`<${SheetView} ...${latest} />`, element);
  styled(SHEET_VIEW).then(draw);
  return {
    update(changed) {
      latest = changed;
      styled(SHEET_VIEW).then(draw);
    },
    unmount() {
      isGone = true;
      render(null, element);
    },
  };
}
