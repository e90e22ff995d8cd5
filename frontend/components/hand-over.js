/** Hands a file that was made here to another app, or to the browser's downloads. */

import { html, useEffect, useState } from "../vendor/ui.js";
import { Notice } from "./notice.js";

/** @param {{file: File}} props */
export function HandOver({ file }) {
  const [problem, setProblem] = useState("");
  useEffect(() => setProblem(""), [file]);
  const share = async () => {
    setProblem("");
    try {
      await navigator.share({ files: [file], title: file.name });
    } catch (error) {
      // Closing the tablet's own dialog is no trouble.
      if (/** @type {any} */ (error).name === "AbortError") return;
      setProblem("The device did not pass the file on. Save it instead.");
    }
  };
  return html`<div class="row">
      ${canShare(file) &&
      html`<button type="button" class="button-next" onClick=${share}>Pass the file on</button>`}
      <button type="button" class="button" onClick=${() => saveFile(file)}>
        ${canShare(file) ? "Save the file here" : "Save it again"}
      </button>
    </div>
    ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}`;
}

/** Whether the tablet can hand the file to another app. @param {File} file */
export function canShare(file) {
  return navigator.canShare?.({ files: [file] }) ?? false;
}

const KEPT_FOR_DOWNLOAD_MS = 10 * 60_000;

/** @param {File} file */
export function saveFile(file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT_FOR_DOWNLOAD_MS);
}
