/** The three ways to a photograph: the device's own camera, the live view, and a file. */

import { html } from "../../vendor/ui.js";
import { RoomWarning } from "../sync/room-warning.js";

/**
 * @param {object} props
 * @param {string} props.what  what will be recorded of the shot, in words
 * @param {string} props.light
 * @param {(files: File[]) => void} props.onFiles
 * @param {() => void} props.onLiveView
 */
export function CaptureButtons({ what, light, onFiles, onLiveView }) {
  const taken = (/** @type {{currentTarget: HTMLInputElement}} */ { currentTarget }) => {
    onFiles([...(currentTarget.files ?? [])]);
    // So that the same file can be chosen once more.
    currentTarget.value = "";
  };
  return html`<div class="capture" role="group" aria-label=${`Photograph: ${what}`}>
    <p class="capture-what"><span class="soft small">The next photograph</span> ${what}</p>
    <div class="row">
      <label class="button big">
        <input
          type="file"
          accept="image/*"
          capture="environment"
          class="visually-hidden"
          data-field=${`take:${light}`}
          onChange=${taken}
        />
        Take photograph
      </label>
      <button type="button" class="button big" data-field=${`live:${light}`} onClick=${onLiveView}>
        Live view
      </button>
      <label class="button big">
        <input
          type="file"
          accept="image/*"
          multiple
          class="visually-hidden"
          data-field=${`choose:${light}`}
          onChange=${taken}
        />
        Choose files
      </label>
    </div>
    <${RoomWarning} elsewhere />
  </div>`;
}
