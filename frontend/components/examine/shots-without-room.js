/** Shots that the tablet has no room for: held in memory until there is, or they are given up. */

import { html } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { bytes } from "../wording.js";
import { RemoveButton } from "./remove-button.js";

/** @param {{held: import("./held.js").Held, light: string}} props */
export function ShotsWithoutRoom({ held, light }) {
  const shots = held.shotsWithoutRoom.value.filter((shot) => shot.light === light);
  return shots.map(
    (shot) => html`<${Notice} kind="problem" key=${shot.file}>
      <p>
        This device has no room for the photograph (${bytes(shot.file.size)}), so it is not saved
        yet. It is held until the app is closed: free space on the Sync screen, come back, and keep
        it.
      </p>
      <button type="button" class="button" onClick=${() => held.photograph(shot)}>
        Keep the photograph now
      </button>
      <${RemoveButton}
        label="Give it up"
        question="Give this photograph up? It is nowhere else."
        onRemove=${() => held.giveUp(shot)}
      />
    <//>`,
  );
}
