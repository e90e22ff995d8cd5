/** Reads a QR code from the live camera picture. */

import { html, useEffect, useRef, useState } from "../vendor/ui.js";
import jsQR from "../vendor/qr.js";
import { Notice } from "./notice.js";

/** A quarter of a second between looks: quick enough for a hand, easy on the battery. */
const LOOK_EVERY_MS = 250;
/** Pictures are read at this width, in pixels; a label held at arm's length is still sharp. */
const READ_WIDTH = 640;

/** @param {{onRead: (text: string) => void}} props  called once with the code's text */
export function Scanner({ onRead }) {
  const video = useRef(/** @type {HTMLVideoElement | null} */ (null));
  const [problem, setProblem] = useState("");
  const [ready, setReady] = useState(false);

  useEffect(() => {
    let stopped = false;
    /** @type {MediaStream | undefined} */
    let stream;
    /** @type {number | undefined} */
    let timer;
    const look = async (/** @type {(video: HTMLVideoElement) => Promise<string>} */ read) => {
      if (stopped || !video.current) return;
      const text = await read(video.current);
      if (stopped) return;
      if (text) onRead(text);
      else timer = setTimeout(look, LOOK_EVERY_MS, read);
    };
    const begin = async () => {
      try {
        stream = await navigator.mediaDevices.getUserMedia({
          video: { facingMode: "environment" },
        });
        if (stopped || !video.current) return stop();
        video.current.srcObject = stream;
        await video.current.play();
        setReady(true);
        await look(await reader());
      } catch (error) {
        if (!stopped) setProblem(sentenceFor(error));
      }
    };
    const stop = () => {
      stopped = true;
      clearTimeout(timer);
      for (const track of stream?.getTracks() ?? []) track.stop();
    };
    begin();
    return stop;
  }, []);

  if (problem) return html`<${Notice} kind="problem">${problem}</${Notice}>`;
  return html`<div class="scanner">
    <video ref=${video} muted playsinline aria-label="Live picture of the camera"></video>
    <p aria-live="polite">
      ${ready ? "Hold the label's code inside the frame." : "Starting the camera…"}
    </p>
  </div>`;
}

/**
 * The browser's own reader where there is one that knows QR, else the carried library.
 *
 * @returns {Promise<(video: HTMLVideoElement) => Promise<string>>} reads "" when no code is seen
 */
async function reader() {
  const Native = /** @type {any} */ (globalThis).BarcodeDetector;
  if (Native && (await Native.getSupportedFormats()).includes("qr_code")) {
    const detector = new Native({ formats: ["qr_code"] });
    return async (video) => (await detector.detect(video))[0]?.rawValue ?? "";
  }
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("2d", { willReadFrequently: true });
  return async (video) => {
    if (!context || !video.videoWidth) return "";
    canvas.width = READ_WIDTH;
    canvas.height = Math.round((READ_WIDTH * video.videoHeight) / video.videoWidth);
    context.drawImage(video, 0, 0, canvas.width, canvas.height);
    const { data, width, height } = context.getImageData(0, 0, canvas.width, canvas.height);
    return jsQR(data, width, height)?.data ?? "";
  };
}

function sentenceFor(/** @type {unknown} */ error) {
  const name = error instanceof Error ? error.name : "";
  if (name === "NotAllowedError") {
    return "The camera is not allowed. Allow it in the browser's settings for this page, or type the number.";
  }
  if (name === "NotFoundError" || name === "OverconstrainedError" || !navigator.mediaDevices) {
    return "This device offers no camera to this page. Type the number instead.";
  }
  if (name === "NotReadableError") {
    return "Another app holds the camera. Close that app, then try again, or type the number.";
  }
  return "The camera did not start. Try again, or type the number.";
}
