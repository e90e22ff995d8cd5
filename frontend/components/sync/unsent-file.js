/** One tap puts all unsent work into one file, to be handed over when sending does not work. */

import { useLive } from "../../store/live.js";
import { countUnsent, makeUnsentFile } from "../../sync/unsent-file.js";
import { html, useState } from "../../vendor/ui.js";
import { canShare, HandOver, saveFile } from "../hand-over.js";
import { Notice } from "../notice.js";
import { bytes, count } from "../wording.js";

/** @typedef {import("../../sync/unsent-file.js").Made} Made */

export function UnsentFile() {
  const unsent = useLive(countUnsent, [], { changes: 0, photographs: 0, bytes: 0 });
  const [isMaking, setIsMaking] = useState(false);
  const [made, setMade] = useState(/** @type {Made | null} */ (null));
  const [problem, setProblem] = useState("");
  const make = async () => {
    setIsMaking(true);
    setProblem("");
    try {
      const done = await makeUnsentFile();
      setMade(done);
      if (!canShare(done.file)) saveFile(done.file);
    } catch (error) {
      setProblem(
        `The file could not be put together (${String(error)}). Free some room on the device and ` +
          "try again. Everything is still saved here.",
      );
    } finally {
      setIsMaking(false);
    }
  };
  const isNothing = unsent.changes + unsent.photographs === 0;
  return html`<section class="section stack">
    <h2>A file of all unsent work</h2>
    ${isNothing
      ? html`<p class="soft">Nothing is unsent, so there is nothing to put into a file.</p>`
      : html`<p>
            The way out when sending does not work: ${contents(unsent)}, in one file. It needs no
            network. Give it to whoever looks after the Fieldleaf server, who takes it in by hand.
            Everything stays on this device as well, and sending it later does no harm.
          </p>
          <button type="button" class="button" disabled=${isMaking} onClick=${make}>
            ${isMaking ? "Putting it together…" : "Save unsent work to a file"}
          </button>`}
    ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
    ${made && html`<${MadeFile} made=${made} />`}
  </section>`;
}

function MadeFile(/** @type {{made: Made}} */ { made }) {
  return html`<div class="stack">
    <p role="status">
      <strong class="file-name">${made.file.name}</strong>, ${bytes(made.file.size)}, is ready: it
      holds ${contents(made)}.
      ${canShare(made.file) ? "" : " It was saved where this browser keeps downloads."}
    </p>
    ${made.unreadable.length > 0 &&
    html`<${Notice} kind="problem">
      <p>
        ${count(made.unreadable.length, "photograph")} could not be read from the device's store and
        ${made.unreadable.length === 1 ? " is" : " are"} not in the file. Look in the device's own
        camera roll.
      </p>
    <//>`}
    <${HandOver} file=${made.file} />
  </div>`;
}

/** "12 changes and 5 photographs" @param {{changes: number, photographs: number}} of */
function contents({ changes, photographs }) {
  const parts = [changes && count(changes, "change"), photographs && count(photographs, "photograph")];
  return parts.filter(Boolean).join(" and ");
}
