/** Room used and left on the tablet, and giving some back. */

import { useLive } from "../../store/live.js";
import { freeSent, sentOriginals } from "../../store/space.js";
import { syncState } from "../../sync/state.js";
import { html, useState } from "../../vendor/ui.js";
import { bytes, count } from "../wording.js";
import { Bar } from "./bar.js";
import { RoomWarning } from "./room-warning.js";

export function Room() {
  const { usage, quota, roomFor } = syncState.value;
  const [freed, setFreed] = useState("");
  const sent = useLive(sentOriginals, [], { files: 0, size: 0 });
  const free = async () => {
    try {
      const size = await freeSent();
      setFreed(`${bytes(size)} given back. The thumbnails stay here.`);
    } catch (error) {
      setFreed(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<section class="section stack">
    <h2>Room</h2>
    <${RoomWarning} />
    ${quota > 0
      ? html`<div>
          <p class="numeral">
            ${bytes(usage)} used, about ${bytes(Math.max(0, quota - usage))} left
          </p>
          <${Bar} share=${usage / quota} />
          <p class="soft small">
            As the browser reckons it.
            ${roomFor !== null &&
            ` Room for about ${count(roomFor, "more photograph", "more photographs")} of the size usual here.`}
          </p>
        </div>`
      : html`<p>This browser does not say how much room is left. Look in the device's own settings.</p>`}
    ${sent.files > 0
      ? html`<p>
            ${count(sent.files, "original photograph")}, ${bytes(sent.size)}, ${sent.files === 1 ? "is" : "are"} sent,
            checked by the server, and still kept here as well.
          </p>
          <button type="button" class="button" onClick=${free}>
            Free ${bytes(sent.size)}: drop sent originals
          </button>`
      : html`<p class="soft">No sent original takes up room here.</p>`}
    ${freed && html`<p role="status">${freed}</p>`}
  </section>`;
}
