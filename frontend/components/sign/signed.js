/** Who signed a check, when, and the hash by which two copies can be held against each other. */

import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { hashOfText } from "../../imaging/hash.js";
import { inFours, lackingOf } from "../loan/words.js";
import { moment, named } from "../wording.js";
import { Drawn } from "./strokes.js";

/** @import { SignatureRow } from "../../store/types.js" */
/** @import { WholeCheck } from "../loan/whole-check.js" */

/**
 * @param {object} props
 * @param {WholeCheck} props.whole
 * @param {boolean} props.isNew  it was signed a moment ago, on this screen
 */
export function Signed({ whole, isNew }) {
  const sha256 = useHash(whole.statement);
  const heading = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    if (isNew) heading.current?.focus();
  }, [isNew]);
  return html`<section class="section stack">
    <h2 ref=${heading} tabindex="-1">Signed</h2>
    ${whole.signatures.length === 0 && html`<p>No signature stands below it on this device.</p>`}
    ${lackingOf(whole).map((sentence) => html`<p key=${sentence}><strong>${sentence}</strong></p>`)}
    <ul class="signatures">
      ${whole.signatures.map((row) => html`<${Given} key=${row.id} signature=${row} />`)}
    </ul>
    <p>
      The words above and all that belongs to them have this fingerprint. Read it aloud, or write it
      down: two copies with the same one say the same.
    </p>
    <p class="hash numeral">${inFours(sha256).join(" ")}</p>
    <p role="status">
      ${whole.isUnsent
        ? "Saved on this device. It will be sent as soon as there is a network."
        : "Saved on this device and sent: the lender's server has it."}
    </p>
  </section>`;
}

/** @param {{signature: SignatureRow}} props */
function Given({ signature: { name, role, of, strokes, signed_at } }) {
  return html`<li>
    ${strokes.length > 0
      ? html`<${Drawn} strokes=${strokes} label=${`Signature of ${name}`} />`
      : html`<p class="signature-name">${name}</p>
          <p class="soft small">Signed with the name alone; nothing was drawn.</p>`}
    <p><strong>${name}</strong>, ${named("role", role).toLowerCase()}${of && `, ${of}`}</p>
    <p class="soft small">${moment(signed_at)}</p>
  </li>`;
}

/** The SHA-256 of a text, "" until it is there. */
export function useHash(/** @type {string} */ text) {
  const [found, setFound] = useState({ text: "", sha256: "" });
  useEffect(() => {
    let isWanted = true;
    if (text) hashOfText(text).then((sha256) => isWanted && setFound({ text, sha256 }));
    return () => {
      isWanted = false;
    };
  }, [text]);
  return found.text === text ? found.sha256 : "";
}
