/** Asks why an object of a walk could not be examined, and keeps it with the stop. */

import { reasonTrouble } from "../../store/walk.js";
import { save } from "../../store/write.js";
import { html, useState } from "../../vendor/ui.js";
import { Reason } from "../check/reason.js";
import { Dialog } from "../dialog.js";
import { Notice } from "../notice.js";

/** Common practice, no source. */
const USUAL = [
  "Not at its place",
  "Somebody else has it",
  "Cannot be reached safely",
  "Cannot be handled safely",
  "Sealed in its frame or mount",
];

/**
 * @param {object} props
 * @param {import("../../store/types.js").StopRow} props.stop
 * @param {string} props.number  accession number of its object
 * @param {boolean} props.open
 * @param {() => void} props.onClose
 */
export function NotFound({ stop, number, open, onClose }) {
  const [reason, setReason] = useState("");
  const [problem, setProblem] = useState("");
  const choose = (/** @type {string} */ words) => {
    setProblem("");
    setReason(words);
  };
  const keep = async () => {
    const trouble = reasonTrouble(reason);
    if (trouble) return setProblem(trouble);
    try {
      await save("stop", stop.id, { missing: reason.trim() });
      onClose();
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<${Dialog} title=${`Not found: ${number}`} open=${open} onClose=${onClose}>
    <p>It stays on the walk and is counted. No other object takes its place.</p>
    <${Reason}
      label="Why it could not be examined"
      value=${reason}
      usual=${USUAL}
      onReason=${choose}
    />
    ${problem && html`<${Notice} kind="problem">${problem}</${Notice}>`}
    <div class="row">
      <button type="button" class="button" onClick=${keep}>Note it as not found</button>
    </div>
  </${Dialog}>`;
}
