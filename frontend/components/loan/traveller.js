/** One object of a loan: what it is, how its checks hang together, and which one is next. */

import { STAGES } from "../../store/loans/begin.js";
import { html } from "../../vendor/ui.js";
import { Thumbnail } from "../thumbnail.js";
import { day, lowerFirst, named } from "../wording.js";
import { checkName, daysOf } from "./words.js";

/** @import { Stage } from "../../store/types.js" */
/** @import { Link, Traveller } from "../../store/loans/journey.js" */

/** @param {{traveller: Traveller, busy: boolean, onBegin: (stage: Stage) => void}} props */
export function TravellerRow({ traveller, busy, onBegin }) {
  const { loaned, object, chain, open, due, last, photograph } = traveller;
  const packed = [loaned.crate, loaned.frame, loaned.glazing].filter(Boolean).join(" · ");
  return html`<li class="traveller">
    <div class="with-thumbnail traveller-head">
      ${photograph && html`<${Thumbnail} sha256=${photograph.sha256} alt="The last signed state" />`}
      <div class="grow">
        <h3>
          <span class="row-name numeral">${object?.accession_number ?? "Not carried"}</span>
          <span class="row-title">${object?.title}</span>
        </h3>
        ${packed && html`<p class="soft small">${packed}</p>`}
        <p class="soft small">
          ${last
            ? `Last signed state: examined ${day(last.started_at)}, signed by ${last.signed_name}`
            : "No signed state is carried: a check begins from nothing."}
        </p>
      </div>
    </div>
    ${chain.length > 0 &&
    html`<ol class="chain" aria-label="Checks">
      ${chain.map((link) => html`<${ChainLink} key=${link.check.id} link=${link} />`)}
    </ol>`}
    <div class="row">
      ${open &&
      html`<a class="button big" href=${`#/check/${open.check.id}`}>
        Go on: ${lowerFirst(checkName(open.check))}
      </a>`}
      ${due &&
      html`<button type="button" class="button big" disabled=${busy} onClick=${() => onBegin(due)}>
        Begin ${lowerFirst(checkName({ stage: due }))}
      </button>`}
    </div>
    ${!object &&
    html`<p>This object is not carried on this device. Settings say what is carried.</p>`}
    ${!open &&
    object &&
    html`<details class="other-value">
      <summary>Another check</summary>
      <div class="row">
        ${STAGES.filter((stage) => stage !== due).map(
          (stage) => html`<button
            type="button"
            class="button"
            key=${stage}
            disabled=${busy}
            onClick=${() => onBegin(stage)}
          >
            ${named("stage", stage)}
          </button>`,
        )}
      </div>
    </details>`}
  </li>`;
}

/** One check of the chain: signed ones lead to their report. */
function ChainLink(/** @type {{link: Link}} */ { link }) {
  const { check, left, known } = link;
  const isSigned = Boolean(check.statement);
  return html`<li>
    <a class="chain-link" href=${`#/${isSigned ? "check-report" : "check"}/${check.id}`}>
      <strong>${named("stage", check.stage)}</strong>
      <span class="small">${[daysOf(link), check.venue].filter(Boolean).join(", ")}</span>
      <span class=${`tag ${isSigned ? "" : "open"}`}>
        ${isSigned ? "Signed" : known ? `${left} of ${known} left` : "Not signed"}
      </span>
    </a>
  </li>`;
}
