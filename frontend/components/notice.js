/** A sentence that must be seen: a problem with what to do, or a plain note. */

import { html } from "../vendor/ui.js";
import { WarningShape } from "./caution.js";

/**
 * @param {object} props
 * @param {"problem" | "note"} [props.kind]
 * @param {import("../vendor/ui.js").ComponentChildren} [props.children]
 */
export function Notice({ kind = "note", children }) {
  return html`<div class=${`notice ${kind}`} role=${kind === "problem" ? "alert" : "status"}>
    ${kind === "problem" && html`<${WarningShape} />`}
    <div class="notice-words">${children}</div>
  </div>`;
}
