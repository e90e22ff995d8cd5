/** Finding an object: type, walk the tree, or scan; then look at it and examine it. */

import { LocationSteps } from "../components/location-steps.js";
import { Scanner } from "../components/scanner.js";
import { TextField } from "../components/text-field.js";
import { TopBar } from "../components/top-bar.js";
import { count } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { findByAccession, searchObjects } from "../store/search.js";
import { html, useEffect, useState } from "../vendor/ui.js";
import { FoundObject } from "./found-object.js";

const SHOWN_AT_MOST = 40;

/** @typedef {import("../store/types.js").ObjectRow} ObjectRow */

/** @param {{visit?: string, object?: string}} props */
export function Find({ visit, object }) {
  const [way, setWay] = useState("type");
  const [text, setText] = useState("");
  const [at, setAt] = useState(/** @type {string | null} */ (null));
  const [scanned, setScanned] = useState("");
  const show = (/** @type {ObjectRow} */ row) => {
    location.hash = address(visit, row.id);
  };
  if (object) {
    return html`<${FoundObject} id=${object} visit=${visit} back=${address(visit)} key=${object} />`;
  }
  const read = async (/** @type {string} */ code) => {
    const row = await objectOfCode(code);
    if (row) show(row);
    else setScanned(code);
  };

  return html`<div class="screen">
    <${TopBar} title="Find an object" back=${visit ? `#/visit/${visit}` : "#/visits"} />
    <main id="main">
      ${way === "type" && html`<${ByTyping} text=${text} setText=${setText} onShow=${show} visit=${visit} />`}
      ${way === "walk" && html`<${ByWalking} at=${at} setAt=${setAt} onShow=${show} />`}
      ${way === "scan" &&
      (scanned
        ? html`<div class="empty" role="status">
            <strong>No object carried here answers to this label.</strong>
            <p>The label reads “${scanned}”. Type the number from the mount or the box instead.</p>
            <button type="button" class="button" onClick=${() => setScanned("")}>Scan again</button>
          </div>`
        : html`<${Scanner} onRead=${read} />`)}
    </main>
    <footer class="actions">
      <div class="row ways" role="group" aria-label="Ways to find it">
        <${Way} code="type" name="Type" way=${way} setWay=${setWay} />
        <${Way} code="walk" name="By place" way=${way} setWay=${setWay} />
        <${Way} code="scan" name="Scan" way=${way} setWay=${setWay} />
      </div>
    </footer>
  </div>`;
}

function Way(
  /** @type {{code: string, name: string, way: string, setWay: (code: string) => void}} */ {
    code,
    name,
    way,
    setWay,
  },
) {
  return html`<button
    type="button"
    class="button way"
    aria-pressed=${way === code}
    onClick=${() => setWay(code)}
  >
    ${name}
  </button>`;
}

function ByTyping(
  /** @type {{text: string, setText: (text: string) => void, onShow: (row: ObjectRow) => void, visit?: string}} */ {
    text,
    setText,
    onShow,
    visit,
  },
) {
  const carried = useLive(() => db.objects.count(), [], /** @type {number | null} */ (null));
  const [found, setFound] = useState(/** @type {ObjectRow[]} */ ([]));
  useEffect(() => {
    let isLatest = true;
    const search = text.trim() ? searchObjects(text, SHOWN_AT_MOST + 1) : Promise.resolve([]);
    search.then((rows) => isLatest && setFound(rows));
    return () => {
      isLatest = false;
    };
  }, [text]);
  const shown = found.slice(0, SHOWN_AT_MOST);
  return html`<${TextField}
      label="Number, title, maker or place"
      type="search"
      value=${text}
      onInput=${setText}
      fieldKey="find.text"
    />
    <p class="found-count soft small" aria-live="polite">
      ${!text.trim() && carried !== null && `${count(carried, "object")} carried on this device.`}
      ${text.trim() &&
      (found.length > SHOWN_AT_MOST
        ? `The first ${SHOWN_AT_MOST}. Type more to narrow them.`
        : found.length > 0 && count(found.length, "object"))}
    </p>
    ${shown.length > 0 && html`<${ObjectRows} rows=${shown} onShow=${onShow} />`}
    ${text.trim() && found.length === 0 && html`<${NotFound} visit=${visit} />`}
    ${carried === 0 &&
    html`<p class="empty">
      <strong>No objects are carried yet.</strong>
      Connect to the network once and wait until the line at the top says “Sent”.
    </p>`}`;
}

function ByWalking(
  /** @type {{at: string | null, setAt: (id: string | null) => void, onShow: (row: ObjectRow) => void}} */ {
    at,
    setAt,
    onShow,
  },
) {
  const places = usePlaces();
  const here = useLive(
    () => (at ? db.objects.where("location").equals(at).sortBy("accession_number") : []),
    [at],
    /** @type {ObjectRow[]} */ ([]),
  );
  return html`<${LocationSteps} places=${places} at=${at} onGo=${setAt} />
    ${at &&
    html`<section class="section">
      <h2>Objects here</h2>
      ${here.length
        ? html`<${ObjectRows} rows=${here} onShow=${onShow} withPlace=${false} />`
        : html`<p class="empty">
            <strong>The catalogue has no object right here.</strong>
            ${places.under(at).length ? "Go on to a unit or a shelf." : "Try the shelves beside it."}
          </p>`}
    </section>`}`;
}

function ObjectRows(
  /** @type {{rows: ObjectRow[], onShow: (row: ObjectRow) => void, withPlace?: boolean}} */ {
    rows,
    onShow,
    withPlace = true,
  },
) {
  const places = usePlaces();
  return html`<ul class="rows">
    ${rows.map(
      (row) => html`<li key=${row.id}>
        <button type="button" class="row-link" onClick=${() => onShow(row)}>
          <span class="grow">
            <span class="row-name numeral">${row.accession_number}</span>
            <span class="row-title">${row.title}</span>
            <span class="soft small">
              ${[row.maker, row.date_text].filter(Boolean).join(", ")}
            </span>
          </span>
          ${withPlace &&
          html`<span class="row-end soft small">
            ${row.off_site_place || places.get(row.location)?.name}
          </span>`}
        </button>
      </li>`,
    )}
  </ul>`;
}

function NotFound(/** @type {{visit?: string}} */ { visit }) {
  return html`<div class="empty" role="status">
    <strong>No object carried here matches.</strong>
    <ul class="advice">
      <li>Type fewer letters, or only the last part of the number.</li>
      <li>Look at the mount, the box and the back for another number.</li>
      <li>
        This device may carry only part of the catalogue:${" "}
        <a href="#/settings">see what is carried</a>.
      </li>
      <li>
        If it is not in the catalogue at all, leave it where it is, write its place and what you
        see ${visit ? html`in <a href=${`#/visit/${visit}`}>the note on the visit</a>` : "in the note on a visit"},
        and ask the registrar to enter it. It reaches this device with the next sending.
      </li>
    </ul>
  </div>`;
}

/** @param {string | undefined} visit @param {string} [object] */
function address(visit, object) {
  const query = new URLSearchParams({ ...(visit && { visit }), ...(object && { object }) });
  return `#/find?${query}`;
}

/**
 * What a label's code says: a number, or an address that ends in a number or an id.
 *
 * @param {string} code
 * @returns {Promise<ObjectRow | undefined>}
 */
async function objectOfCode(code) {
  const whole = await findByAccession(code.trim());
  if (whole) return whole;
  const last = decodeURIComponent(code.trim().replace(/\/+$/, "").split(/[/=#]/).at(-1) ?? "");
  return (await findByAccession(last)) ?? (await db.objects.get(last));
}
