/** Says before it happens that the room for photographs runs out, and what to do. */

import { syncState } from "../../sync/state.js";
import { html } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { count } from "../wording.js";

/** About one large object under every light, both sides, with details. */
const SHORT_BELOW = 20;

/** Whether fewer than 20 more photographs of the size usual here will go in. */
export function isRoomShort() {
  const { roomFor } = syncState.value;
  return roomFor !== null && roomFor < SHORT_BELOW;
}

/** @param {{elsewhere?: boolean}} props  elsewhere: on another screen than the one with the remedies */
export function RoomWarning({ elsewhere = false }) {
  if (!isRoomShort()) return null;
  const roomFor = syncState.value.roomFor ?? 0;
  return html`<${Notice} kind="problem">
    <p>
      <strong>
        ${roomFor > 0
          ? `Room for about ${count(roomFor, "more photograph", "more photographs")} on this device.`
          : "No room for another photograph on this device."}
      </strong>
      ${" "}Send what waits, then free the originals that the server has checked; or delete other
      files on the device.
    </p>
    ${elsewhere && html`<p><a class="button" href="#/sync">Make room</a></p>`}
  <//>`;
}
