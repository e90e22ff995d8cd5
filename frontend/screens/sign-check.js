/** Signing a check on a loan: what is signed, who signs, and what it came to. */

import { Choice } from "../components/choice.js";
import { contradicts } from "../components/examine/progress.js";
import { termName, unsaidOf } from "../components/examine/words.js";
import { PointsList } from "../components/check/points-list.js";
import { readWhole } from "../components/loan/whole-check.js";
import { checkName } from "../components/loan/words.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { handOf, keyOf, useDraft } from "../components/sign/drafts.js";
import { Hand, lackOf } from "../components/sign/hand.js";
import { Signed, useHash } from "../components/sign/signed.js";
import { Summary } from "../components/sign/summary.js";
import { TopBar } from "../components/top-bar.js";
import { count, day } from "../components/wording.js";
import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { mayWrite } from "../store/loans/begin.js";
import { sign } from "../store/loans/signing.js";
import { save } from "../store/write.js";
import { html, useRef, useState } from "../vendor/ui.js";

/** @import { WholeCheck } from "../components/loan/whole-check.js" */

/** @param {{id: string}} props  of the check */
export function SignCheck({ id }) {
  const whole = useLive(
    () => readWhole(id),
    [id],
    /** @type {WholeCheck | null | undefined} */ (undefined),
  );
  if (whole === null) return html`<${NotHere}
      title="Sign the check"
      what="This check"
      why="Send and receive on the Sync screen if it was begun on another device."
    />`;
  const back = whole?.check.statement ? `#/loan/${whole.check.loan}` : `#/check/${id}?step=sign`;
  return html`<div class="screen">
    <${TopBar} title="Sign the check" back=${back} />
    <main id="main" aria-busy=${!whole}>${whole && html`<${Whole} whole=${whole} />`}</main>
  </div>`;
}

/** @param {{whole: WholeCheck}} props */
function Whole({ whole }) {
  const { check, object, loan, examination, refused, lacks, differs } = whole;
  const isSigned = check.statement !== "";
  const wasOpen = useRef(!isSigned);
  const about = [checkName(check), check.venue, `examined ${day(examination.started_at)}`].filter(Boolean).join(", ");
  return html`
    <div class="sign-head">
      <p class="object-number numeral">${object?.accession_number ?? "Not carried"}</p>
      <h2 class="page-title">${object?.title}</h2>
      <p>${about}</p>
      <p class="soft">${loan.reference} ${loan.title}: ${loan.lender} to ${loan.borrower}</p>
    </div>
    ${refused.length > 0 &&
    html`<${Notice} kind="problem">
      <p>
        ${isSigned
          ? "The server did not take a signature from this device."
          : "The server did not take what was signed, so it does not count as signed."}
        ${` ${refused.join(" ")}`}
      </p>
      <p>Nothing is lost. See to it, then sign again.</p>
    <//>`}
    ${differs &&
    html`<${Notice} kind="problem">
      <p>
        The records on this device say something else by now than what was signed. What was signed
        stands, and is kept word for word. Look on the <a href="#/sync">Sync screen</a> for what the
        server did not take.
      </p>
    <//>`}
    <section class="section stack">
      <h2>${isSigned ? "What was signed" : "What is signed"}</h2>
      <${Summary} whole=${whole} />
    </section>
    ${isSigned
      ? html`<${Signed} whole=${whole} isNew=${wasOpen.current} /><${Further} whole=${whole} />`
      : lacks
        ? html`<${Notice} kind="problem"><p>${lacks}</p><//>`
        : html`<${ToSign} whole=${whole} />`}
  `;
}

/** What still hinders, else the fields to sign in. @param {{whole: WholeCheck}} props */
function ToSign({ whole }) {
  const { check, open, examination, observations } = whole;
  const mustSay = !examination.signed_at && observations.length === 0;
  const isAgainst = contradicts({ examination, observations });
  if (open.length) {
    return html`<section class="section stack">
      <h2>First see to these</h2>
      <p>
        ${count(open.length, "known point")} ${open.length === 1 ? "has" : "have"} neither an answer
        nor a reason. The fields to sign in come when all are settled.
      </p>
      <${PointsList}
        points=${open}
        href=${(/** @type {import("../components/check/data.js").Point} */ { known }) =>
          `#/check/${check.id}?step=points&point=${known.id}`}
      />
    </section>`;
  }
  if (isAgainst) return html`<${Contradiction} whole=${whole} />`;
  return html`
    <${Unsaid} whole=${whole} />
    ${mustSay && html`<${NothingSeen} whole=${whole} />`}
    ${(!mustSay || examination.nothing_seen) && html`<${Hands} whole=${whole} />`}
  `;
}

/** New findings of which little was said: to look at again, which nobody has to. @param {{whole: WholeCheck}} props */
function Unsaid({ whole: { examination, points, found } }) {
  const scant = found.filter((row) => unsaidOf(row));
  if (scant.length === 0 || examination.signed_at) return null;
  const name = points.length ? "new finding" : "observation";
  return html`<section class="section stack">
    <${Notice}>
      <p>
        <strong>${count(scant.length, name)} not fully described.</strong> It can be signed so; the
        report then says what is not said.
      </p>
      <ul class="told">
        ${scant.map((row) => html`<li key=${row.id}>${termName(row)}: without ${unsaidOf(row)}</li>`)}
      </ul>
      <p><a class="button" href=${`#/examine/${examination.id}`}>Open what was seen</a></p>
    <//>
  </section>`;
}

/** A check without any observation says outright that none was seen. @param {{whole: WholeCheck}} props */
function NothingSeen({ whole: { examination } }) {
  return html`<section class="section stack">
    <h2>Nothing is noted as seen</h2>
    <p>An empty list is no statement. Say outright that no damage was seen, or go back and note it.</p>
    <${Choice}
      label="Nothing seen"
      name="nothing-seen"
      fieldKey="nothing-seen"
      multiple
      hideLabel
      shape="list"
      options=${[{ value: "said", label: "No damage seen", hint: "I looked at what could be seen of this sheet, and saw no damage." }]}
      value=${examination.nothing_seen ? ["said"] : []}
      onChange=${(/** @type {string[]} */ said) => save("examination", examination.id, { nothing_seen: said.length > 0 })}
    />
  </section>`;
}

/** @param {{whole: WholeCheck}} props */
function Contradiction({ whole: { examination } }) {
  return html`<section class="section">
    <${Notice} kind="problem">
      <p>It is said that nothing was seen, and damage is recorded. Both cannot be signed.</p>
      <button
        type="button"
        class="button"
        onClick=${() => save("examination", examination.id, { nothing_seen: false })}
      >
        Take back “nothing seen”
      </button>
      <p>Or <a href=${`#/examine/${examination.id}`}>open what was seen</a>, and remove it or call it a feature.</p>
    <//>
  </section>`;
}

/** @param {{whole: WholeCheck}} props */
function Hands({ whole }) {
  const { check } = whole;
  const sha256 = useHash(whole.statement);
  const { draft, change, changeHand, problem } = useDraft(check);
  if (!draft || !sha256) return null;
  const hands = draft.alone ? draft.hands.slice(0, 1) : draft.hands;
  const titles = ["First signature", "Second signature"];
  return html`<section class="section stack">
    <h2>Sign</h2>
    <p class="soft">
      Signing fixes this check as it stands above, with names, roles and the time. What is found
      later is added as an amendment and alters nothing of it.
    </p>
    <${Choice}
      label="Who is here to sign"
      name="who-signs"
      fieldKey="who-signs"
      options=${[
        { value: "two", label: "Two people" },
        { value: "one", label: "One person", hint: "The other one can sign later." },
      ]}
      value=${draft.alone ? "one" : "two"}
      onChange=${(/** @type {string} */ picked) => change({ alone: picked === "one" })}
    />
    ${hands.map(
      (hand, at) => html`<${Hand}
        key=${at}
        title=${titles[at]}
        part=${`hand-${at + 1}`}
        hand=${hand}
        sha256=${sha256}
        onChange=${(/** @type {Partial<import("../components/sign/hand.js").HandDraft>} */ fields) => changeHand(at, fields)}
        names=${whole.loan.couriers}
        houses=${housesOf(whole)}
      />`,
    )}
    ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
    <${SignButton} whole=${whole} sha256=${sha256} hands=${hands} titles=${titles} />
  </section>`;
}

/** Another person signs what stands. @param {{whole: WholeCheck}} props */
function Further({ whole }) {
  const { check, signatures, examination } = whole;
  const sha256 = useHash(whole.statement);
  const [hand, setHand] = useState(handOf(signatures.some(({ role }) => role === "receiver") ? "courier" : "receiver", ""));
  const [isOpen, setOpen] = useState(false);
  const title = "A further signature";
  return html`<section class="section stack">
    <a class="button-next" href=${`#/check-report/${check.id}`}>Open the report</a>
    ${isOpen
      ? html`<${Hand}
            title=${title}
            part="hand-further"
            hand=${hand}
            sha256=${sha256}
            onChange=${(/** @type {Partial<typeof hand>} */ fields) => setHand((before) => ({ ...before, ...fields }))}
            names=${whole.loan.couriers}
            houses=${housesOf(whole)}
          />
          <${SignButton} whole=${whole} sha256=${sha256} hands=${[hand]} titles=${[title]} onDone=${() => setOpen(false)} />`
      : mayWrite(examination) &&
        html`<button type="button" class="button" data-field="further" onClick=${() => setOpen(true)}>
          ${signatures.length < 2 ? "Let the second person sign" : "Let somebody else sign too"}
        </button>`}
  </section>`;
}

/**
 * @param {object} props
 * @param {WholeCheck} props.whole
 * @param {string} props.sha256
 * @param {import("../components/sign/hand.js").HandDraft[]} props.hands
 * @param {string[]} props.titles
 * @param {() => void} [props.onDone]
 */
function SignButton({ whole, sha256, hands, titles, onDone = () => {} }) {
  const [refusal, setRefusal] = useState("");
  const [signing, setSigning] = useState(false);
  const go = async () => {
    const lacks = hands.map((hand, at) => lackOf(hand, sha256, titles[at])).filter(Boolean);
    if (lacks.length) return setRefusal(lacks.join(" "));
    setRefusal("");
    setSigning(true);
    try {
      const given = hands.map(({ role, name, of, strokes }) => ({ role, name: name.trim(), of: of.trim(), strokes }));
      await sign(whole.check.id, whole.statement, given);
      await db.settings.delete(keyOf(whole.check.id));
      onDone();
    } catch (error) {
      setRefusal(error instanceof Error ? error.message : String(error));
    } finally {
      setSigning(false);
    }
  };
  return html`
    ${refusal && html`<${Notice} kind="problem"><p>${refusal}</p><//>`}
    <button type="button" class="button-next sign-button" data-field="sign-check" disabled=${signing} onClick=${go}>
      ${signing ? "Signing…" : "Sign"}
    </button>
  `;
}

/** @param {WholeCheck} whole */
function housesOf({ loan, check }) {
  return [...new Set([loan.lender, loan.borrower, check.venue])].filter(Boolean);
}
