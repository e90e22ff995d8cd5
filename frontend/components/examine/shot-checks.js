/** What the check found fault with in new shots, and what becomes of them: the person says. */

import { html } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { clock, lowerFirst } from "../wording.js";
import { photographInWords } from "./words.js";

/** @import { PhotographRow } from "../../store/types.js" */

/**
 * @param {object} props
 * @param {import("./held.js").Held} props.held
 * @param {string} props.light
 * @param {(files: File[], again: PhotographRow) => void} [props.onFiles]  from the device's camera
 * @param {(again: PhotographRow) => void} [props.onAgain]  in the live view, which shoots by itself
 */
export function ShotChecks({ held, light, onFiles, onAgain }) {
  return [...held.view.faulty.value].map(([id, again]) => {
    const photograph = held.photographs.value.find((each) => each.id === id);
    if (!photograph || photograph.light !== light) return null;
    const name = `${lowerFirst(photographInWords(photograph))}, ${clock(photograph.taken_at)}`;
    const settle = () => held.settleFault(id);
    if (again) {
      return html`<${Notice} key=${id}>
        <p>
          The photograph of ${name} was taken again, and both are kept. Compare them, then say
          whether the earlier one is to go.
        </p>
        <div class="row">
          <button type="button" class="button" onClick=${settle}>Keep both</button>
          <button
            type="button"
            class="button"
            onClick=${() => {
              settle();
              held.takePhotograph(photograph);
            }}
          >
            Remove the earlier one
          </button>
        </div>
      <//>`;
    }
    return html`<${Notice} key=${id} kind="problem">
      <p><strong>The photograph just taken, ${name}</strong></p>
      ${photograph.shot_check?.sentences.map((sentence) => html`<p>${sentence}</p>`)}
      <div class="row">
        ${onAgain
          ? html`<button type="button" class="button" onClick=${() => onAgain(photograph)}>
              Take again
            </button>`
          : html`<label class="button">
              <input
                type="file"
                accept="image/*"
                capture="environment"
                class="visually-hidden"
                data-field=${`again:${id}`}
                onChange=${(/** @type {{currentTarget: HTMLInputElement}} */ { currentTarget }) => {
                  onFiles?.([...(currentTarget.files ?? [])], photograph);
                  currentTarget.value = "";
                }}
              />
              Take again
            </label>`}
        <button type="button" class="button" onClick=${settle}>Keep it as it is</button>
      </div>
    <//>`;
  });
}
