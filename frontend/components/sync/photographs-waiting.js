/** The photographs still to be sent: how far each has come, and all of them together. */

import { useLive } from "../../store/live.js";
import { syncState } from "../../sync/state.js";
import { photographInWords } from "../../sync/unsent.js";
import { waitingPhotographs } from "../../sync/waiting-photographs.js";
import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { Thumbnail } from "../thumbnail.js";
import { bytes, count, grouped } from "../wording.js";
import { Bar } from "./bar.js";

/** @import { Sending } from "../../store/types.js" */
/** @import { Waiting } from "../../sync/waiting-photographs.js" */

const SHOWN_AT_FIRST = 20;
const NONE = { shown: /** @type {Waiting[]} */ ([]), all: /** @type {Sending[]} */ ([]) };

export function PhotographsWaiting() {
  const [most, setMost] = useState(SHOWN_AT_FIRST);
  const waiting = useLive(() => waitingPhotographs(most), [most], NONE);
  const whole = useWhole(waiting.all);
  if (waiting.all.length === 0) return null;
  return html`<section class="section stack">
    <h2>Photographs on their way</h2>
    <div>
      <p class="numeral">
        ${grouped(whole.files_sent)} of ${count(whole.files, "photograph")} sent,
        ${" "}${bytes(whole.bytes_sent)} of ${bytes(whole.bytes)}
        ${syncState.value.held && ", held on this device"}
      </p>
      <${Bar} share=${whole.bytes_sent / whole.bytes} />
      <${Announced} whole=${whole} />
    </div>
    <ul class="rows" aria-label="Photographs still to be sent">
      ${waiting.shown.map((each) => html`<${OnePhotograph} key=${each.sha256} waiting=${each} />`)}
    </ul>
    ${waiting.all.length > waiting.shown.length &&
    html`<button type="button" class="button" onClick=${() => setMost(waiting.all.length)}>
      Show all ${grouped(waiting.all.length)}
    </button>`}
  </section>`;
}

function OnePhotograph(/** @type {{waiting: Waiting}} */ { waiting }) {
  const { sha256, size_bytes, bytes_sent, url, trouble, object, photograph } = waiting;
  const what = photograph ? photographInWords(photograph) : "photograph";
  return html`<li class="with-thumbnail photograph-waiting">
    <${Thumbnail} sha256=${sha256} alt=${`${object}, ${what}`} />
    <div class="grow">
      <p><strong class="numeral">${object}</strong>, ${what}</p>
      <p class="soft small numeral">
        ${bytes(bytes_sent)} of ${bytes(size_bytes)} sent${url && !syncState.value.held && ", under way"}${trouble && ", not accepted: see above"}
      </p>
      <${Bar} share=${bytes_sent / size_bytes} />
    </div>
  </li>`;
}

/** @typedef {{files: number, files_sent: number, bytes: number, bytes_sent: number}} Whole */

/**
 * What waits, together with what was sent since this screen was opened.
 *
 * @param {Sending[]} waiting
 * @returns {Whole}
 */
function useWhole(waiting) {
  const seen = useRef(/** @type {Map<string, number>} */ (new Map())).current;
  if (waiting.length === 0) seen.clear();
  for (const { sha256, size_bytes } of waiting) seen.set(sha256, size_bytes);
  const bytes = sum([...seen.values()]);
  const bytesToGo = sum(waiting.map(({ size_bytes, bytes_sent }) => size_bytes - bytes_sent));
  return {
    files: seen.size,
    files_sent: seen.size - waiting.length,
    bytes,
    bytes_sent: bytes - bytesToGo,
  };
}

/** @param {number[]} numbers */
function sum(numbers) {
  return numbers.reduce((total, each) => total + each, 0);
}

/** Tells a screen reader at each quarter, not at each piece. */
function Announced(/** @type {{whole: Whole}} */ { whole }) {
  const quarter = Math.floor((4 * whole.bytes_sent) / whole.bytes) * 25;
  const [words, setWords] = useState("");
  useEffect(() => {
    const sent = `${whole.files_sent} of ${count(whole.files, "photograph")} sent`;
    setWords(quarter > 0 ? `${quarter} % of the photographs' bytes sent: ${sent}.` : "");
  }, [quarter]);
  return html`<p class="visually-hidden" role="status">${words}</p>`;
}
