/** The report of a check, made on this device: to read, to print, and to take along as one file. */

import { HandOver, canShare, saveFile } from "../components/hand-over.js";
import { NotHere } from "../components/not-here.js";
import { Notice } from "../components/notice.js";
import { contentOf, photographsOf } from "../components/report/content.js";
import { detailsOf, readReport } from "../components/report/data.js";
import { takePictures } from "../components/report/pictures.js";
import { ReportDocument } from "../components/report/report.js";
import { canNumberPages, makeFile, pageRules, STYLES } from "../components/report/save.js";
import { useHash } from "../components/sign/signed.js";
import { TopBar } from "../components/top-bar.js";
import { bytes, count } from "../components/wording.js";
import { useLive } from "../store/live.js";
import { session } from "../store/session.js";
import { html, useEffect, useMemo, useState } from "../vendor/ui.js";

/** @import { Content } from "../components/report/content.js" */
/** @import { Report } from "../components/report/data.js" */
/** @import { Picture } from "../components/report/pictures.js" */

/** @param {{id: string}} props  of the check */
export function CheckReport({ id }) {
  const report = useLive(
    () => readReport(id),
    [id],
    /** @type {Report | null | undefined} */ (undefined),
  );
  if (report === null) return html`<${NotHere}
      title="Report of a check"
      what="This check"
      why="Send and receive on the Sync screen if it was made on another device."
    />`;
  if (!report) return html`<div class="screen"><${TopBar} title="Report of a check" /></div>`;
  return html`<${Opened} report=${report} />`;
}

/** @param {{report: Report}} props */
function Opened({ report }) {
  const { check, examination } = report.whole;
  const isSigned = check.statement !== "";
  const { pictures, done, of } = usePictures(report);
  const isReady = done === of;
  const at = useMemo(() => new Date().toISOString(), []);
  const sha256 = useHash(check.statement);
  const content = contentOf(report, { pictures, isReady, at, maker: session.value?.person.name ?? "" });
  const addressOf = useAddresses(pictures);
  const styles = useStyles();
  return html`<div class="screen report-screen">
    <${TopBar}
      title="Report"
      isHeading=${false}
      back=${isSigned ? `#/sign/${check.id}` : `#/check/${check.id}?step=sign`}
    />
    <main id="main" class="wide" aria-busy=${!isReady || !styles}>
      ${styles &&
      html`<style>
          ${styles}
        </style>
        <style>
          ${pageRules(content, sha256)}
        </style>
        <${ReportDocument} content=${content} addressOf=${addressOf} sha256=${sha256} />`}
    </main>
    <${Ways} content=${content} pictures=${pictures} check=${check} sha256=${sha256} started_at=${examination.started_at} done=${done} of=${of} />
  </div>`;
}

/**
 * @param {object} props
 * @param {Content} props.content
 * @param {Map<string, Picture>} props.pictures
 * @param {Report["whole"]["check"]} props.check
 * @param {string} props.sha256
 * @param {string} props.started_at
 * @param {number} props.done  pictures that are prepared, of so many
 * @param {number} props.of
 */
function Ways({ content, pictures, check, sha256, started_at, done, of }) {
  const [progress, setProgress] = useState("");
  const [problem, setProblem] = useState("");
  const [file, setFile] = useState(/** @type {File | null} */ (null));
  const isReady = done === of && (sha256 !== "" || !check.statement);
  useEffect(() => setFile(null), [check.statement, content.signatures.length]);
  const make = async () => {
    setProblem("");
    setProgress("Putting the file together…");
    try {
      const made = await makeFile(
        { content, pictures, statement: check.statement, sha256, started_at },
        (put) => setProgress(`Putting the file together: ${put} of ${count(pictures.size, "picture")}…`),
      );
      setFile(made);
      if (!canShare(made)) saveFile(made);
    } catch (error) {
      setProblem(`The file could not be put together (${String(error)}). Free some room on the device and try again.`);
    } finally {
      setProgress("");
    }
  };
  return html`<footer class="actions">
    ${!isReady && html`<p role="status">Preparing the pictures: ${done} of ${of}…</p>`}
    ${progress && html`<p role="status">${progress}</p>`}
    ${problem && html`<${Notice} kind="problem"><p>${problem}</p><//>`}
    ${file &&
    html`<div class="stack">
      <p role="status">
        <strong class="file-name">${file.name}</strong>, ${bytes(file.size)}, is ready.
        ${canShare(file) ? "" : " It was saved where this browser keeps downloads."}
      </p>
      <${HandOver} file=${file} />
    </div>`}
    <div class="row">
      <button type="button" class="button" disabled=${!isReady} onClick=${() => print()}>Print</button>
      ${!file &&
      html`<button type="button" class="button-next" disabled=${!isReady || progress !== ""} onClick=${make}>
        Save the report
      </button>`}
    </div>
  </footer>`;
}

/** Prepares the pictures one after another; those that are there stay when the records change. */
function usePictures(/** @type {Report} */ report) {
  const photographs = photographsOf(report);
  const details = detailsOf(report);
  const of = photographs.length + details.length;
  // What a detail shows follows from where its point lies.
  const places = [report.now, ...report.earlier].map(({ seen }) => seen);
  const key = JSON.stringify([photographs.map(({ id, homography }) => [id, homography]), details.map((each) => each.key), places]);
  const [taken, setTaken] = useState({ key: "", done: 0, pictures: /** @type {Map<string, Picture>} */ (new Map()) });
  useEffect(() => {
    const stop = new AbortController();
    setTaken(({ pictures }) => ({ key, done: 0, pictures }));
    takePictures(
      photographs,
      details,
      // The last one counts when all are handed over.
      (done) => stop.signal.aborted || setTaken(({ pictures }) => ({ key, done: Math.min(done, of - 1), pictures })),
      stop.signal,
    ).then((pictures) => stop.signal.aborted || setTaken({ key, done: of, pictures }));
    return () => stop.abort();
  }, [key]);
  return { pictures: taken.pictures, done: taken.key === key ? taken.done : 0, of };
}

/** Addresses of pictures for this screen, given back to the browser when they are no longer shown. */
function useAddresses(/** @type {Map<string, Picture>} */ pictures) {
  const addresses = useMemo(
    () => new Map([...pictures].map(([id, { blob }]) => [id, URL.createObjectURL(blob)])),
    [pictures],
  );
  useEffect(() => () => addresses.forEach((address) => URL.revokeObjectURL(address)), [addresses]);
  return (/** @type {string} */ id) => addresses.get(id) ?? "";
}

/** The report's own style sheet, which the saved file has inside it too. */
function useStyles() {
  const [styles, setStyles] = useState("");
  useEffect(() => {
    document.documentElement.classList.toggle("unnumbered", !canNumberPages());
    // Should it not be on the device yet, the report still reads without it.
    fetch(STYLES).then(async (answer) => setStyles(await answer.text()), () => setStyles(" "));
  }, []);
  return styles;
}
