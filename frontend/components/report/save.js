/** The report as one file that needs nothing else: pictures, styles and what was signed inside it. */

import { html, render } from "../../vendor/ui.js";
import { localDay } from "../../store/loans/begin.js";
import { moment } from "../../store/loans/statement.js";
import { lowerFirst } from "../wording.js";
import { inFours } from "../loan/words.js";
import { ReportDocument } from "./report.js";

/** @import { SignatureRow } from "../../store/types.js" */
/** @import { Content } from "./content.js" */
/** @import { Picture } from "./pictures.js" */

export const STYLES = "/field/components/report/report.css";

/**
 * @param {object} of
 * @param {Content} of.content
 * @param {Map<string, Picture>} of.pictures  by the key of the photograph
 * @param {string} of.statement  what was signed; "" for a draft
 * @param {string} of.sha256  of it
 * @param {string} of.started_at  when the check was begun, ISO 8601
 * @param {(done: number) => void} onProgress  told how many pictures are in it
 * @returns {Promise<File>}
 */
export async function makeFile({ content, pictures, statement, sha256, started_at }, onProgress) {
  const styles = await (await fetch(STYLES)).text();
  /** @type {Map<string, string>} */
  const addresses = new Map();
  for (const [id, { blob }] of pictures) {
    addresses.set(id, await dataAddress(blob));
    onProgress(addresses.size);
  }
  const page = document.createElement("div");
  const addressOf = (/** @type {string} */ id) => addresses.get(id) ?? "";
  render(html`<${ReportDocument} content=${content} addressOf=${addressOf} sha256=${sha256} />`, page);
  const body = page.innerHTML;
  render(null, page);
  const { number, title, stage, checkedOn, signatures } = content;
  const parts = [
    '<!doctype html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n',
    '<meta name="viewport" content="width=device-width, initial-scale=1">\n',
    '<meta name="generator" content="Fieldleaf">\n',
    `<title>${escaped(`Loan check: ${number}, ${title}, ${lowerFirst(stage)}, ${checkedOn}`)}</title>\n`,
    `<style>\n@media screen { body { margin: 1.5rem 1rem; background: #fff; } }\n${styles}\n${pageRules(content, sha256)}</style>\n`,
    `<script>if (!(${canNumberPages})()) document.documentElement.classList.add("unnumbered");</script>\n</head>\n<body>\n${body}\n`,
    content.isSigned ? signedPart(statement, signatures) : "",
    "</body>\n</html>\n",
  ];
  const name = fileName(number, stage, started_at, content.isSigned);
  return new File(parts, name, { type: "text/html" });
}

/** "PE.1931.6 arrival check 2026-11-28.html" @param {string} number @param {string} stage @param {string} started_at @param {boolean} isSigned */
export function fileName(number, stage, started_at, isSigned) {
  const words = `${number} ${lowerFirst(stage)} check ${localDay(started_at)}${isSigned ? "" : " draft"}.html`;
  // What a file's name may not hold somewhere.
  return words.replace(/[\\/:*?"<>|\u0000-\u001f]/g, "-");
}

/**
 * What was signed, word for word, with the signatures: what `manage.py verify-signature` reads.
 *
 * @param {string} statement @param {SignatureRow[]} signatures
 */
export function signedPart(statement, signatures) {
  // The time as the server writes it, whether the row was made here or came from there.
  const rows = signatures.map(({ role, name, of, strokes, signed_at, sha256 }) => ({
    role, name, of, strokes, signed_at: moment(signed_at), sha256,
  }));
  // No "<" may stand in it as it is: a note that ends a script element would end this one.
  const json = JSON.stringify({ statement, signatures: rows }).replaceAll("<", "\\u003c");
  return `<script type="application/json" id="signed">${json}</script>\n`;
}

/**
 * What stands in the margins of every page.
 *
 * @param {Content} content @param {string} sha256
 */
export function pageRules({ number, stage, isSigned, signedOn, checkedOn }, sha256) {
  const print = inFours(sha256).slice(0, 4).join(" ");
  const state = isSigned ? `${signedOn}, fingerprint ${print} …` : `DRAFT, not signed. Checked ${checkedOn}`;
  const font = 'font: 8.5pt "Noto Sans", "Liberation Sans", sans-serif; color: #161616';
  const margins = {
    "top-left": quoted(number),
    "top-right": quoted(state),
    "bottom-left": quoted(`Loan check, ${lowerFirst(stage)}`),
    "bottom-right": '"Page " counter(page) " of " counter(pages)',
  };
  const boxes = Object.entries(margins).map(([place, content]) => `@${place} { content: ${content}; ${font} }`);
  return `@page { size: A4; margin: 22mm 18mm 20mm; ${boxes.join(" ")} }\n`;
}

/** As a string of CSS that also may stand in an HTML element. @param {string} words */
function quoted(words) {
  const plain = words.replace(/["\\<>\n\r\f]/g, (sign) => `\\${sign.codePointAt(0)?.toString(16)} `);
  return `"${plain}"`;
}

/** @param {string} words */
function escaped(words) {
  return words.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
}

/**
 * Whether the browser writes in the margins of a page, and so can number the pages. Stands in the
 * saved file too, for the browser of whoever opens it: so it uses nothing from outside.
 */
export function canNumberPages() {
  const style = document.head.appendChild(document.createElement("style"));
  style.textContent = "@page { @bottom-right { content: 'x' } }";
  const kept = [...(style.sheet?.cssRules ?? [])].map((rule) => rule.cssText).join("");
  style.remove();
  return kept.includes("bottom-right");
}

/** @param {Blob} blob @returns {Promise<string>} */
function dataAddress(blob) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result));
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });
}
