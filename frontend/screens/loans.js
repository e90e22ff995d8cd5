/** The loans that this tablet carries, for whoever has an account. */

import { TopBar } from "../components/top-bar.js";
import { count, day } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { localDay } from "../store/loans/begin.js";
import { html } from "../vendor/ui.js";

/** @typedef {import("../store/types.js").LoanRow & {objects: number}} CountedLoan */

export function Loans() {
  const loans = useLive(readLoans, [], /** @type {CountedLoan[] | null} */ (null));
  const today = localDay(Date.now());
  const now = loans?.filter(({ last_day }) => last_day >= today) ?? [];
  const past = loans?.filter(({ last_day }) => last_day < today) ?? [];
  return html`<div class="screen">
    <${TopBar} title="Loans" back="#/visits" />
    <main id="main" aria-busy=${loans === null}>
      ${loans?.length === 0 &&
      html`<p class="empty">
        <strong>No loan is carried.</strong>
        Loans are made at the desk, and come to this device when it is next brought up to date.
      </p>`}
      ${now.length > 0 &&
      html`<section>
        <h2>Now and to come</h2>
        <${LoanRows} loans=${now} />
      </section>`}
      ${past.length > 0 &&
      html`<section class=${now.length ? "section" : ""}>
        <h2>Over</h2>
        <${LoanRows} loans=${past} />
      </section>`}
    </main>
  </div>`;
}

function LoanRows(/** @type {{loans: CountedLoan[]}} */ { loans }) {
  return html`<ul class="rows">
    ${loans.map(
      (loan) => html`<li key=${loan.id}>
        <a class="row-link" href=${`#/loan/${loan.id}`}>
          <span class="grow">
            <span class="row-name numeral">${loan.reference}</span>
            <span class="row-title">${loan.title}</span>
            <span class="soft small">
              ${loan.direction === "out" ? `To ${loan.borrower}` : `From ${loan.lender}`},
              ${` ${day(loan.first_day)} to ${day(loan.last_day)}`}
            </span>
          </span>
          <span class="row-end small">${count(loan.objects, "object")}</span>
        </a>
      </li>`,
    )}
  </ul>`;
}

/** Those that run or come first, the earliest first. @returns {Promise<CountedLoan[]>} */
async function readLoans() {
  const [loans, loaned] = await Promise.all([db.loans.toArray(), db.loaned_objects.toArray()]);
  return loans
    .map((loan) => ({ ...loan, objects: loaned.filter((each) => each.loan === loan.id).length }))
    .sort((a, b) => a.first_day.localeCompare(b.first_day) || a.reference.localeCompare(b.reference));
}
