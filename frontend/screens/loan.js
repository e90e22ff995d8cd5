/** One loan: what is next on it, its objects with their checks, and what was agreed. */

import { Carrying } from "../components/loan/carrying.js";
import { agreed } from "../components/loan/conditions.js";
import { TravellerRow } from "../components/loan/traveller.js";
import { checkName } from "../components/loan/words.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { TopBar } from "../components/top-bar.js";
import { count, day, dayAndTime, lowerFirst } from "../components/wording.js";
import { useLive } from "../store/live.js";
import { beginCheck } from "../store/loans/begin.js";
import { nextOf, readJourney } from "../store/loans/journey.js";
import { session } from "../store/session.js";
import { syncState } from "../sync/state.js";
import { html, useState } from "../vendor/ui.js";

/** @import { LoanRow, Stage } from "../store/types.js" */
/** @import { Journey, Traveller } from "../store/loans/journey.js" */

/** An end that is nearer is told on the screen, h. */
const SOON_H = 48;

/** @param {{id: string}} props */
export function LoanScreen({ id }) {
  const journey = useLive(
    () => readJourney(id),
    [id],
    /** @type {Journey | null | undefined} */ (undefined),
  );
  const [problem, setProblem] = useState("");
  const [busy, setBusy] = useState(false);
  const isPass = Boolean(session.value?.loan);
  const back = isPass ? undefined : "#/loans";
  if (journey === undefined) {
    return html`<div class="screen"><${TopBar} title="Loan" back=${back} /></div>`;
  }
  if (!journey) return html`<${StillComing} isPass=${isPass} back=${back} />`;

  const { loan, travellers, isWhole } = journey;
  const begin = async (/** @type {Traveller} */ traveller, /** @type {Stage} */ stage) => {
    if (busy || !isWhole) return;
    setBusy(true);
    try {
      const name = `${checkName({ stage })}, ${loan.reference}`;
      location.hash = `#/check/${await beginCheck(loan, traveller.loaned, stage, name)}`;
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    } finally {
      setBusy(false);
    }
  };
  const next = nextOf(travellers);

  return html`<div class="screen">
    <${TopBar} title=${`Loan ${loan.reference}`} back=${back} />
    <main id="main">
      <div class="visit-head">
        <h2 class="page-title">${loan.title}</h2>
        <p>${loan.lender} to ${loan.borrower}</p>
        <p class="soft">${day(loan.first_day)} to ${day(loan.last_day)}</p>
        ${isPass && html`<${PassEnds} />`}
      </div>
      <${Carrying} loan=${id} />
      ${!isWhole &&
      html`<${Notice}>
        <p>The records are still coming. A check can begin when all of them are here.</p>
      <//>`}
      <${Left} next=${next} travellers=${travellers} />
      ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
      <section class="section">
        <h2>Objects, by crate</h2>
        ${travellers.length === 0 &&
        html`<p class="empty">
          <strong>No object is on this loan yet.</strong>
          Objects are put on it at the desk.
        </p>`}
        <ul class="travellers">
          ${travellers.map(
            (each) =>
              html`<${TravellerRow}
                key=${each.loaned.id}
                traveller=${each}
                busy=${busy || !isWhole}
                onBegin=${(/** @type {Stage} */ stage) => begin(each, stage)}
              />`,
          )}
        </ul>
      </section>
      <${Agreed} loan=${loan} />
      ${isPass && html`<${More} />`}
    </main>
    ${next && html`<${NextStep} next=${next} busy=${busy || !isWhole} onBegin=${begin} />`}
  </div>`;
}

/** The records are not here yet, or not for this device. */
function StillComing(/** @type {{isPass: boolean, back: string | undefined}} */ { isPass, back }) {
  if (!isPass) return html`<${NotHere}
      title="Loan"
      back=${back}
      what="This loan"
      why="It may be over, or not have been received yet. Send and receive on the Sync screen."
    />`;
  const { busy, online, progress } = syncState.value;
  return html`<div class="screen">
    <${TopBar} title="Loan" />
    <main id="main">
      <p class="empty" role="status">
        <strong>
          ${busy ? "The loan is coming onto this device." : "The loan is not on this device yet."}
        </strong>
        ${progress ? `${count(progress.done, "record")} received so far. ` : ""}
        ${busy
          ? "Keep the network until it is here."
          : online
            ? "Open the Sync screen to fetch it."
            : "Connect to a network: it comes by itself."}
      </p>
    </main>
  </div>`;
}

function PassEnds() {
  const by = session.value;
  if (!by) return null;
  const isSoon = Date.parse(by.expires_at) - Date.now() < SOON_H * 3_600_000;
  if (!isSoon) return html`<p class="soft small">Your pass holds until ${dayAndTime(by.expires_at)}.</p>`;
  return html`<${Notice}>
    <p>
      <strong>Your pass holds until ${dayAndTime(by.expires_at)}.</strong> Send what you recorded
      before then.
    </p>
  <//>`;
}

/** How much is left, in large figures. */
function Left(
  /** @type {{next: ReturnType<typeof nextOf>, travellers: Traveller[]}} */ { next, travellers },
) {
  if (!next) {
    return travellers.length > 0 && html`<p class="loan-left">No check is due now.</p>`;
  }
  return html`<p class="loan-left">
    <span class="object-number numeral">${next.left}</span>
    ${` of ${count(next.of, "object")} left: ${lowerFirst(checkName(next))}`}
  </p>`;
}

/** @param {{next: NonNullable<ReturnType<typeof nextOf>>, busy: boolean, onBegin: (traveller: Traveller, stage: Stage) => void}} props */
function NextStep({ next, busy, onBegin }) {
  const { first, stage } = next;
  const what = `${lowerFirst(checkName(next))}, ${first.object?.accession_number ?? "object"}`;
  return html`<footer class="actions">
    <div class="row">
      ${first.open
        ? html`<a class="button-next" href=${`#/check/${first.open.check.id}`}>Go on: ${what}</a>`
        : html`<button
            type="button"
            class="button-next"
            disabled=${busy}
            onClick=${() => onBegin(first, stage)}
          >
            Begin ${what}
          </button>`}
    </div>
  </footer>`;
}

function Agreed(/** @type {{loan: LoanRow}} */ { loan }) {
  const facts = agreed(loan);
  return html`<section class="section">
      <h2>What was agreed</h2>
      ${facts.length === 0 && html`<p class="soft">No figures were agreed.</p>`}
      <dl class="facts">
        ${facts.map(
          ([name, words]) => html`<div key=${name}><dt>${name}</dt><dd class="numeral">${words}</dd></div>`,
        )}
        ${[
          ["Handling", loan.handling],
          ["Frame and mount", loan.framing],
          ["Note", loan.note],
        ].map(
          ([name, words]) =>
            words && html`<div key=${name}><dt>${name}</dt><dd class="as-written">${words}</dd></div>`,
        )}
      </dl>
    </section>
    ${(loan.venues.length > 0 || loan.couriers.length > 0) &&
    html`<section class="section">
      <h2>Where it goes, and with whom</h2>
      <ul class="rows">
        ${loan.venues.map(
          (venue) => html`<li class="venue" key=${venue.name}>
            <span class="row-name">${venue.name}</span>
            <span class="soft small">${day(venue.first_day)} to ${day(venue.last_day)}</span>
          </li>`,
        )}
      </ul>
      ${loan.couriers.length > 0 && html`<p>Couriers: ${loan.couriers.join(", ")}</p>`}
    </section>`}`;
}

/** What else there is for somebody with a pass. */
function More() {
  return html`<nav class="section" aria-label="More">
    <h2>More</h2>
    <ul class="rows">
      <li>
        <a class="row-link" href="#/guide">
          <span class="grow">
            <span class="row-name">Guide</span>
            <span class="soft small">Lights, condition terms, cautions</span>
          </span>
        </a>
      </li>
      <li>
        <a class="row-link" href="#/settings">
          <span class="grow">
            <span class="row-name">Settings</span>
            <span class="soft small">Light or dim, hand, your pass</span>
          </span>
        </a>
      </li>
    </ul>
    <p class="soft small signed-in-as">Pass of ${session.value?.person.name}</p>
  </nav>`;
}
