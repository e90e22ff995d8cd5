/** The first screen: go on where you left, open visits, ended visits. */

import { ObjectLabel } from "../components/object-label.js";
import { TopBar } from "../components/top-bar.js";
import { day, purposeName } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { usePlaces } from "../store/locations.js";
import { lastPlace } from "../store/place.js";
import { session } from "../store/session.js";
import { html, useEffect, useState } from "../vendor/ui.js";

/**
 * @typedef {import("../store/types.js").VisitRow} VisitRow
 * @typedef {VisitRow & {examined: number, unfinished: number}} CountedVisit
 */

export function Visits() {
  const person = session.value?.person;
  const visits = useLive(
    () => countedVisits(person?.id),
    [person?.id],
    /** @type {CountedVisit[] | null} */ (null),
  );
  const left = useUnfinishedPlace();
  const open = visits?.filter((visit) => !visit.ended_at) ?? [];
  const ended = visits?.filter((visit) => visit.ended_at) ?? [];

  return html`<div class="screen">
    <${TopBar} title="My visits" />
    <main id="main">
      ${left &&
      html`<section class="left-off" aria-label="Go on where you left">
        <p class="soft">You left this examination unfinished.</p>
        <${ObjectLabel} object=${left.object} />
      </section>`}
      ${visits?.length === 0 &&
      html`<div class="empty">
        <strong>No visit yet.</strong>
        <p>
          A visit is one outing with a purpose: a round of the stores, a loan to check, an hour at
          the bench. Start one, find an object, examine it. All of it works with no network.
        </p>
      </div>`}
      ${open.length > 0 &&
      html`<section class=${left ? "section" : ""}>
        <h2>Open</h2>
        <${VisitRows} visits=${open} />
      </section>`}
      ${ended.length > 0 &&
      html`<section class="section">
        <h2>Ended</h2>
        <${VisitRows} visits=${ended} />
      </section>`}
      <nav class="section" aria-label="More">
        <h2>More</h2>
        <ul class="rows">
          <${MoreRow} href="#/loans" name="Loans" line="What travels, and its checks on the way" />
          <${MoreRow} href="#/guide" name="Guide" line="Lights, condition terms, cautions" />
          <${MoreRow} href="#/settings" name="Settings" line="Light or dim, hand, what is carried" />
        </ul>
        ${person && html`<p class="soft small signed-in-as">Signed in as ${person.name}</p>`}
      </nav>
    </main>
    <footer class="actions">
      <div class="row">
        <a class="button" href="#/find">Find an object</a>
        ${left
          ? html`<a class="button" href="#/start">Start a visit</a>
              <a class="button-next" href=${`#${left.route}`}>Go on where you left</a>`
          : html`<a class="button-next" href="#/start">Start a visit</a>`}
      </div>
    </footer>
  </div>`;
}

function VisitRows(/** @type {{visits: CountedVisit[]}} */ { visits }) {
  const places = usePlaces();
  return html`<ul class="rows">
    ${visits.map((visit) => {
      const where = places.get(visit.location)?.name ?? visit.place;
      return html`<li key=${visit.id}>
        <a class="row-link" href=${`#/visit/${visit.id}`}>
          <span class="grow">
            <span class="row-name">${visit.name}</span>
            <span class="soft small">
              ${[purposeName(visit.purpose), where, day(visit.started_at)]
                .filter(Boolean)
                .join(" · ")}
            </span>
          </span>
          <span class="visit-counts numeral">
            <span>${visit.examined} examined</span>
            ${visit.unfinished > 0 &&
            html`<span class="tag open">${visit.unfinished} unfinished</span>`}
          </span>
        </a>
      </li>`;
    })}
  </ul>`;
}

function MoreRow(/** @type {{href: string, name: string, line: string}} */ { href, name, line }) {
  return html`<li>
    <a class="row-link" href=${href}>
      <span class="grow">
        <span class="row-name">${name}</span>
        <span class="soft small">${line}</span>
      </span>
      <span class="soft" aria-hidden="true">›</span>
    </a>
  </li>`;
}

/**
 * The visits of one person, newest first, with how many objects they hold.
 *
 * @param {string | undefined} person
 * @returns {Promise<CountedVisit[]>}
 */
async function countedVisits(person) {
  const [visits, examinations] = await Promise.all([
    db.visits.orderBy("started_at").reverse().toArray(),
    db.examinations.toArray(),
  ]);
  return visits
    .filter((visit) => !visit.person || visit.person === person)
    .map((visit) => {
      const own = examinations.filter((row) => row.visit === visit.id);
      const examined = own.filter((row) => row.signed_at).length;
      return { ...visit, examined, unfinished: own.length - examined };
    });
}

/** The unsigned examination that was last open, with its object; null if there is none. */
function useUnfinishedPlace() {
  const [route, setRoute] = useState("");
  useEffect(() => {
    Promise.resolve(lastPlace()).then((place) => setRoute(place?.route ?? ""));
  }, []);
  const id = route.match(/^\/examine\/([^?/]+)/)?.[1] ?? "";
  const object = useLive(
    async () => {
      const examination = id ? await db.examinations.get(id) : undefined;
      return examination && !examination.signed_at
        ? ((await db.objects.get(examination.object)) ?? null)
        : null;
    },
    [id],
    /** @type {import("../store/types.js").ObjectRow | null} */ (null),
  );
  return object && { route, object };
}
