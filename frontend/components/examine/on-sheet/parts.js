/** Parts that show photographs on the sheet, with their style sheets; loaded when first opened. */

import { SHEET_VIEW, styled } from "../../sheet-view/styled.js";

const ON_SHEET = "/field/components/examine/on-sheet/on-sheet.css";

/**
 * @template T
 * @param {Promise<T>} part
 * @returns {Promise<T>}  when its style sheets apply, too
 */
export async function withStyles(part) {
  const [loaded] = await Promise.all([part, styled(SHEET_VIEW, ON_SHEET)]);
  return loaded;
}
