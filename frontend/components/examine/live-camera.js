/** The live view: the camera on the screen and a shutter that a glove can find. */

import { light as lightOf } from "../../store/vocabulary.js";
import { html, useEffect, useRef, useState } from "../../vendor/ui.js";
import { LightFigure } from "../light-figure.js";
import { Notice } from "../notice.js";
import { count } from "../wording.js";
import { AzimuthSteps } from "./azimuth-dial.js";
import { Ghost, GhostControls, GHOST_STRENGTH } from "./ghost.js";
import { captureWords } from "./light-slot.js";
import { ShotChecks } from "./shot-checks.js";
import { ShotsWithoutRoom } from "./shots-without-room.js";
import { Stage } from "./stage.js";

/** @type {Record<string, string>} by the name of the error that getUserMedia gives */
const REFUSALS = {
  NotAllowedError:
    "This app may not use the camera. Allow it in the browser’s settings for this site, or close this view and tap Take photograph.",
  NotFoundError: "No camera was found on this device. Close this view and choose files instead.",
  NotReadableError:
    "Another app holds the camera. Close that app and try again, or close this view and tap Take photograph.",
};
const REFUSED =
  "The camera did not start. Try again, or close this view and tap Take photograph or Choose files.";
const NO_LIVE_VIEW =
  "This browser gives no live view at this address; it needs https. Close this view and tap Take photograph or Choose files.";

/** Of a JPEG made from the live picture, when the camera gives no photograph of its own. */
const JPEG_QUALITY = 0.95;

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {import("./ghost.js").Shown | null} [props.ghost]  a photograph of then, laid over the
 *   live picture
 * @param {import("../../vendor/ui.js").ComponentChildren} [props.beside]  the earlier picture, shown
 *   beside the live one where there is room, else above it when asked for
 * @param {(photograph: string) => void} [props.onKept]  told each photograph once it is kept
 */
export function LiveCamera({ held, ghost = null, beside, onKept }) {
  const { view } = held;
  const [strength, setStrength] = useState(GHOST_STRENGTH);
  const [isAlone, setIsAlone] = useState(false);
  const [isAbove, setIsAbove] = useState(false);
  const light = lightOf(view.camera.value);
  const video = useRef(/** @type {HTMLVideoElement | null} */ (null));
  const [stream, setStream] = useState(/** @type {MediaStream | null} */ (null));
  const [tries, setTries] = useState(0);
  const [busy, setBusy] = useState(false);
  const [said, setSaid] = useState(/** @type {string[]} */ ([]));
  const [trouble, setTrouble] = useState("");

  useEffect(() => {
    let gone = false;
    /** @type {MediaStream | null} */
    let opened = null;
    setTrouble("");
    openCamera().then(
      (found) => {
        opened = found;
        if (gone) return stop(found);
        if (video.current) video.current.srcObject = found;
        return setStream(found);
      },
      (error) => setTrouble(REFUSALS[error.name] ?? (error.message || REFUSED)),
    );
    return () => {
      gone = true;
      if (opened) stop(opened);
    };
  }, [tries]);

  if (!light) return null;
  const shots = held.photographs.value.filter((photograph) => photograph.light === light.code);
  const what = captureWords(light, view.side.value, view.azimuth.value);

  const shoot = async (/** @type {import("../../store/types.js").PhotographRow | undefined} */ again) => {
    if (!stream || !video.current || busy) return;
    setBusy(true);
    setTrouble("");
    try {
      const picture = await photographFrom(stream.getVideoTracks()[0], video.current);
      const kind = picture.type.split("/")[1]?.replace("jpeg", "jpg") ?? "jpg";
      const name = `${what.toLowerCase().replace(/[^a-z0-9]+/g, "-")}-${Date.now()}.${kind}`;
      const file = new File([picture], name, { type: picture.type });
      setSaid(await held.photograph({ ...held.shot(light.code, file, again), onKept }));
    } catch (error) {
      setTrouble(error instanceof Error ? error.message : REFUSED);
    } finally {
      setBusy(false);
    }
  };

  return html`<${Stage} label=${`Live view: ${what}`} onClose=${() => (view.camera.value = null)}>
    <div class=${`stage-picture camera-picture ${isAbove ? "divided" : ""}`}>
      ${isAbove && html`<div class="camera-above">${beside}</div>`}
      <div class="camera-live">
        <video ref=${video} autoplay playsinline muted></video>
        ${ghost && html`<${Ghost} shown=${ghost} strength=${isAlone ? 1 : strength} />`}
      </div>
    </div>
    <div class="stage-panel camera-panel">
      <div class="camera-what">
        <${LightFigure} light=${light.code} azimuth=${light.has_azimuth ? view.azimuth.value : null} />
        <p>${ghost && "Same light as then: "}<strong>${what}</strong><br /><span aria-live="polite">${kept(shots.length)}</span></p>
      </div>
      ${ghost &&
      html`<${GhostControls}
        shown=${ghost}
        strength=${strength}
        onStrength=${setStrength}
        onAlone=${setIsAlone}
      />`}
      ${beside && html`<div class="camera-beside">${beside}</div>`}
      ${light.has_azimuth &&
      !ghost &&
      html`<${AzimuthSteps}
        value=${view.azimuth.value}
        onChange=${(/** @type {number} */ azimuth) => (view.azimuth.value = azimuth)}
      />`}
      ${light.code === "ultraviolet" &&
      html`<p class="small">Eyewear on, skin covered. Lamp on for the exposure only, then off.</p>`}
      ${trouble &&
      html`<${Notice} kind="problem">
        <p>${trouble}</p>
        ${!stream &&
        html`<button type="button" class="button" onClick=${() => setTries(tries + 1)}>
          Try the camera again
        </button>`}
      <//>`}
      <${ShotChecks} held=${held} light=${light.code} onAgain=${shoot} />
      <${ShotsWithoutRoom} held=${held} light=${light.code} />
      ${said.map((sentence) => html`<${Notice}><p>${sentence}</p><//>`)}
      <div class="camera-buttons">
        ${beside &&
        html`<button
          type="button"
          class="button camera-asks"
          aria-pressed=${isAbove}
          onClick=${() => setIsAbove(!isAbove)}
        >
          Earlier picture
        </button>`}
        <button
          type="button"
          class="shutter"
          disabled=${!stream || busy}
          aria-label="Take the photograph"
          onClick=${() => shoot(undefined)}
        >
          <span aria-hidden="true"></span>
        </button>
        <button type="button" class="button big" onClick=${() => (view.camera.value = null)}>
          Close
        </button>
      </div>
    </div>
  <//>`;
}

function kept(/** @type {number} */ shots) {
  return shots ? `${count(shots, "photograph")} kept under this light` : "None yet under this light";
}

/** @returns {Promise<MediaStream>} @throws {Error} */
function openCamera() {
  if (!navigator.mediaDevices?.getUserMedia) return Promise.reject(new Error(NO_LIVE_VIEW));
  return navigator.mediaDevices.getUserMedia({
    audio: false,
    // As much as the camera has: "ideal" takes the nearest size below.
    video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } },
  });
}

/** @param {MediaStream} stream */
function stop(stream) {
  for (const track of stream.getTracks()) track.stop();
}

/**
 * One photograph at full resolution where the browser can (ImageCapture, W3C MediaStream Image
 * Capture), else the live picture as a JPEG.
 *
 * @param {MediaStreamTrack} track
 * @param {HTMLVideoElement} video
 * @returns {Promise<Blob>}
 */
async function photographFrom(track, video) {
  const { ImageCapture } = /** @type {any} */ (window);
  if (ImageCapture) {
    try {
      return await new ImageCapture(track).takePhoto();
    } catch {
      // Some cameras have a live picture only.
    }
  }
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext("2d")?.drawImage(video, 0, 0);
  const picture = await new Promise((/** @type {(made: Blob | null) => void} */ resolve) =>
    canvas.toBlob(resolve, "image/jpeg", JPEG_QUALITY),
  );
  if (!picture) throw new Error("The camera gave no picture. Wait for the live view, then try again.");
  return picture;
}
