/** The report of a check, as a document: on the screen, on paper, and in the file that is saved. */

import { html } from "../../vendor/ui.js";
import { inFours } from "../loan/words.js";
import { pathOf } from "../sign/drawing.js";
import { lowerFirst, moment, named } from "../wording.js";

/** @import { SignatureRow } from "../../store/types.js" */
/** @import { Content, Facts, Figure, Line } from "./content.js" */

/**
 * @param {object} props
 * @param {Content} props.content
 * @param {(picture: string) => string} props.addressOf  of a picture, by its key
 * @param {string} props.sha256  of what was signed; "" for a draft
 */
export function ReportDocument({ content, addressOf, sha256 }) {
  const { isSigned, points } = content;
  return html`<article class="report">
    <header>
      <p class="over">Loan check: condition report</p>
      <h1 tabindex="-1">${content.title}</h1>
      <p class="lead">${content.number}, ${lowerFirst(content.stage)} check, ${content.checkedOn}</p>
      ${!isSigned &&
      html`<p class="draft"><b>DRAFT, not signed.</b> The check is not signed, and may still change.</p>`}
    </header>
    <section><h2>Result</h2>
      <ul>${content.result.map((sentence) => html`<li key=${sentence}>${sentence}</li>`)}</ul></section>
    <${Cautions} content=${content} />
    <div class="identified">
      <section><h2>The object</h2><${FactList} facts=${content.object} /></section>
      <section><h2>The check</h2><${FactList} facts=${content.check} /></section>
    </div>
    <div class="identified">
      <section><h2>The loan</h2><${FactList} facts=${content.loan} /></section>
      <section><h2>Conditions agreed</h2>
        ${content.agreed.length
          ? html`<${FactList} facts=${content.agreed} />`
          : html`<p>None are recorded with this loan.</p>`}</section>
    </div>
    <${Photographs} content=${content} addressOf=${addressOf} />
    <${Points} content=${content} addressOf=${addressOf} />
    <section><h2>${points.length ? "New findings" : "Observations"}</h2>
      ${content.findings.map((line) => html`<${Observation} key=${line.number} line=${line} />`)}
      ${content.findings.length === 0 &&
      (content.nothingSeen && points.length === 0
        ? html`<p><b>Nothing seen.</b> The examiner looked and saw no damage.</p>`
        : html`<p>None were noted${points.length ? " beyond the points above" : ""}.</p>`)}</section>
    <${Earlier} content=${content} addressOf=${addressOf} />
    <${Measurements} content=${content} />
    <${Packing} content=${content} />
    ${content.notes.length > 0 &&
    html`<section><h2>Notes</h2>${content.notes.map((note) => html`<p class="written" key=${note}>${note}</p>`)}</section>`}
    <${Signatures} content=${content} sha256=${sha256} />
    ${content.later.length > 0 &&
    html`<section><h2>Added later</h2>
      <p class="small">Written after the signatures, and not part of what was signed. The report above tells the state as it was signed.</p>
      ${content.later.map(
        (one) => html`<div class="amended" key=${one.id}>
          <p><b>${one.what}</b></p>
          ${one.change && html`<p>${one.change}</p>`}
          <p class="written">${one.reason}</p>
          <p class="small">${one.by}</p>
        </div>`,
      )}</section>`}
    <section><h2>Words in this report</h2><${FactList} facts=${content.words} across /></section>
    <section class="kept"><h2>This report</h2>
      <${FactList} facts=${content.made} across />
      <p>It tells how one object was found at one moment of a loan, held against the last state that
      was signed. It says nothing of how the object fared since, nor of its value or authorship.</p></section>
    <p class="every-page" aria-hidden="true">${isSigned ? "" : "DRAFT, not signed"}</p>
  </article>`;
}

/** @param {{facts: Facts, across?: boolean}} props */
function FactList({ facts, across = false }) {
  return html`<dl class=${`fact-list${across ? " across" : ""}`}>
    ${facts.map(([name, words]) => html`<div key=${name}><dt>${name}</dt><dd class="written">${words}</dd></div>`)}
  </dl>`;
}

/** @param {{content: Content}} props */
function Cautions({ content: { hazards } }) {
  if (hazards.length === 0) return null;
  return html`<section><h2>Cautions</h2>
    ${hazards.map(
      ({ code, name, sentence, action, seen, keepTo }) => html`<div class="caution-box" key=${code}>
        <h3>Caution: ${lowerFirst(name)}</h3>
        <p>${sentence} <b>${action}</b></p>
        <p class="small">Noted: ${seen.join(", ")}</p>
        ${keepTo &&
        html`<ul>${keepTo.text.map((words) => html`<li key=${words}>${words}</li>`)}</ul>
          <p><b>${keepTo.defer}</b></p>`}
      </div>`,
    )}</section>`;
}

/** @param {{content: Content, addressOf: (picture: string) => string}} props */
function Photographs({ content, addressOf }) {
  return html`<section><h2>Photographs</h2>
    ${content.sides.length === 0
      ? html`<p>No photographs were taken.</p>`
      : html`<p class="small">
          Numbers on the photographs are those of the points and findings below.
          ${content.hasScale && " A scale holds in the middle of the sheet."}
          ${content.hasBehind && " Dashed: on the other side, seen through the sheet."}
          ${" Their colours are not proof: paper and screens show them otherwise."}
        </p>`}
    ${content.sides.map(
      ({ name, figures: [first, ...others] }) => html`<section key=${name}><h3>${name}</h3>
        <${Shown} figure=${first} addressOf=${addressOf} isWide />
        <div class="pairs">${others.map((figure) => html`<${Shown} key=${figure.number} figure=${figure} addressOf=${addressOf} />`)}</div>
      </section>`,
    )}</section>`;
}

/** @param {{content: Content, addressOf: (picture: string) => string}} props */
function Earlier({ content: { before }, addressOf }) {
  if (before.length === 0) return null;
  return html`<section><h2>Photographs of the earlier state</h2>
    ${before.map(
      ({ name, figures }) => html`<section key=${name}><h3>${name}</h3>
        <div class="pairs">${figures.map((figure) => html`<${Shown} key=${figure.number} figure=${figure} addressOf=${addressOf} />`)}</div>
      </section>`,
    )}</section>`;
}

/** @param {{figure: Figure, addressOf: (picture: string) => string, isWide?: boolean}} props */
function Shown({ figure, addressOf, isWide = false }) {
  const { picture, heading, caption, alt, trouble, size, shapes, labels, scale } = figure;
  const { width_px, height_px } = size;
  // As large as fits the room of a figure on the page, by the longer way.
  const [room, tall] = isWide ? [164, 104] : [75, 58];
  const width = Math.min(room, (tall * width_px) / height_px);
  return html`<figure class=${isWide ? "wide" : "half"}>
    ${trouble
      ? html`<div class="missing"><p>${trouble}</p></div>`
      : html`<div class="ground">
          <div class="plate" style=${`width: min(100%, ${width.toFixed(1)}mm)`}>
            <div class="picture">
              <img src=${addressOf(picture)} alt=${alt} width=${width_px} height=${height_px} />
              <svg viewBox=${`0 0 ${width_px} ${height_px}`} preserveAspectRatio="none" aria-hidden="true">
                ${["halo", "core"].map((part) =>
                  shapes
                    .filter(({ points }) => points.length > 1)
                    .map(
                      ({ points, isBehind }) => html`<polygon
                        class=${`${part}${isBehind ? " behind" : ""}`}
                        points=${points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ")}
                      />`,
                    ),
                )}
              </svg>
              ${shapes
                .filter(({ points }) => points.length === 1)
                .map(
                  ({ points: [[x, y]], isBehind }) => html`<span
                    class=${`place-ring${isBehind ? " behind" : ""}`}
                    style=${placed(x / width_px, y / height_px)}
                    aria-hidden="true"
                  ></span>`,
                )}
              ${labels.map(
                ({ text, x, y, isAbove }) => html`<span
                  class=${`place-number${isAbove ? " above" : ""}`}
                  style=${placed(x, y)}
                  aria-hidden="true"
                >${text}</span>`,
              )}
            </div>
            ${scale && html`<p class="scale"><span class="scale-bar" style=${`width: ${(100 * scale.share).toFixed(2)}%`}></span> ${scale.mm} mm</p>`}
          </div>
        </div>`}
    <figcaption><b>${heading}</b> ${caption}</figcaption>
  </figure>`;
}

/** @param {number} x @param {number} y  shares of the picture */
function placed(x, y) {
  return `left: ${(100 * x).toFixed(2)}%; top: ${(100 * y).toFixed(2)}%`;
}

/** @param {{content: Content, addressOf: (picture: string) => string}} props */
function Points({ content, addressOf }) {
  const { points, earlierTold, checkedOn } = content;
  return html`<section><h2>Point by point</h2>
    <p class="small">${earlierTold}${points.length > 0 && " Each point keeps its number on all photographs."}</p>
    ${points.map(
      (point) => html`<section class="noted" key=${point.number}>
        <h3><${Ordinal} number=${point.number} /> ${point.name}: ${lowerFirst(point.answer)}</h3>
        ${point.reason && html`<p class="written">${point.answer === "Changed" ? "What changed: " : "Reason: "}${point.reason}</p>`}
        <${StateLine} line=${point.before} heading="Earlier" when=${point.told} />
        ${point.now
          ? html`<${StateLine} line=${point.now} heading="Now" when=${checkedOn} />`
          : html`<p><b>Now:</b> ${point.answer === "Same" ? "as before" : "not described at this check"}.</p>`}
        ${point.details.length > 0 &&
        html`<div class="pairs">
          ${point.details.map((figure) => html`<${Shown} key=${figure.picture} figure=${figure} addressOf=${addressOf} />`)}
        </div>`}
      </section>`,
    )}</section>`;
}

/** @param {{line: Line, heading: string, when: string}} props */
function StateLine({ line, heading, when }) {
  return html`<p><b>${heading}</b>, ${when}: <${Told} line=${line} /></p>
    <${Beside} line=${line} />`;
}

/** @param {{line: Line}} props */
function Observation({ line }) {
  return html`<section class="noted">
    <h3><${Ordinal} number=${line.number} /> ${line.name}</h3>
    <p><${Told} line=${line} /></p>
    <${Beside} line=${line} />
  </section>`;
}

/** @param {{line: Line}} props */
function Told({ line: { facts, shownBy, drawnOn } }) {
  return html`${facts}${shownBy && ` Shown by ${shownBy}.`}${drawnOn && ` Drawn on ${drawnOn}.`}`;
}

/** @param {{line: Line}} props */
function Beside({ line: { name, note, hazards, definition } }) {
  return html`${note && html`<p class="written">${note}</p>`}
    ${hazards.map((hazard) => html`<p key=${hazard}><b>Hazard: ${lowerFirst(hazard)}.</b> See Cautions.</p>`)}
    ${definition && html`<p class="small">${name}: ${definition}</p>`}`;
}

/** @param {{number: number}} props */
function Ordinal({ number }) {
  return html`<span class="ordinal">${number}</span>`;
}

/** @param {{content: Content}} props */
function Measurements({ content: { measurements } }) {
  if (measurements.length === 0) return null;
  return html`<section><h2>Measurements</h2>
    <table>
      <thead><tr><th scope="col">What</th><th scope="col" class="figure">Value</th><th scope="col" class="figure">Standard uncertainty</th><th scope="col">Of</th></tr></thead>
      <tbody>
        ${measurements.map(
          ({ what, value, uncertainty, of }, at) => html`<tr key=${at}>
            <th scope="row">${what}</th><td class="figure">${value}</td><td class="figure">${uncertainty}</td><td>${of}</td>
          </tr>`,
        )}
      </tbody>
    </table></section>`;
}

/** @param {{content: Content}} props */
function Packing({ content: { held, packing } }) {
  return html`<section><h2>${packing}</h2>
    ${held.length === 0
      ? html`<p>Nothing was noted.</p>`
      : html`<table class="stacked">
            <thead><tr><th scope="col">What</th><th scope="col">Agreed or listed</th><th scope="col">Found</th><th scope="col">How it stands</th></tr></thead>
            <tbody>
              ${held.map(
                ({ name, agreed, found, judged, isOutside }) => html`<tr key=${name}>
                  <th scope="row">${name}</th>
                  <td data-head="Agreed or listed">${agreed || "Not agreed"}</td>
                  <td data-head="Found">${found || "Not noted"}</td>
                  <td data-head="How it stands">${isOutside ? html`<b>${judged}</b>` : judged}</td>
                </tr>`,
              )}
            </tbody>
          </table>
          <p class="small">Temperature and humidity are as read on the spot; the record holds no uncertainty for them.</p>`}</section>`;
}

/** @param {{content: Content, sha256: string}} props */
function Signatures({ content, sha256 }) {
  if (!content.isSigned) {
    return html`<section class="kept"><h2>Signatures</h2>
      <p><b>DRAFT, not signed.</b> Nobody has signed this check.</p></section>`;
  }
  return html`<section><h2>Signatures</h2>
      <ul class="hands">
        ${content.signatures.map((row) => html`<${Given} key=${row.id} signature=${row} />`)}
      </ul>
      ${content.signatures.length === 0 && html`<p>No signature of it is on this device yet.</p>`}
      ${content.differs &&
      html`<p class="draft"><b>The records on this device no longer say what was signed.</b> What was
      signed is in the saved file; this report tells the records.</p>`}
    </section>
    <section class="kept"><h2>How to hold this report to what was signed</h2>
      <p>What was signed is one text. It is kept word for word, and travels inside the saved file of
      this report together with the signatures. Those words are what is signed. The pages only tell
      them, and pages can be changed after the file was saved: so they are to be read against those
      words. The server that keeps the record prints them in plain lines:</p>
      <p class="digest">manage.py verify-signature FILE</p>
      <p>The fingerprint of the text (SHA-256 of its bytes in UTF-8) stood with each signature when it
      was given:</p>
      <p class="digest">${inFours(sha256).join(" ")}</p>
      <p>Two copies of the text with the same fingerprint say the same, to the last letter. The
      fingerprint says nothing of what the pages show.</p>
      <p>It does not prove who wrote the name: that is known by those who were there.</p></section>`;
}

/** @param {{signature: SignatureRow}} props */
function Given({ signature: { name, role, of, strokes, signed_at } }) {
  const drawn = strokes.flat();
  const [top, bottom] = [Math.min(...drawn.map(([, y]) => y)) - 12, Math.max(...drawn.map(([, y]) => y)) + 12];
  return html`<li>
    ${drawn.length > 0
      ? html`<svg viewBox=${`0 ${top} 1000 ${bottom - top}`} role="img" aria-label=${`Signature of ${name}, ${lowerFirst(named("role", role))}, drawn by hand`}>
          ${strokes.map((stroke) => html`<path d=${pathOf(stroke)} />`)}
        </svg>`
      : html`<p class="small">Signed with the name alone; nothing was drawn.</p>`}
    <p><b>${name}</b>, ${lowerFirst(named("role", role))}${of && `, for ${of}`}. ${moment(signed_at)}.</p>
  </li>`;
}
