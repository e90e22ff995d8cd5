/**
 * How long the ultraviolet lamp was on. The time is counted from the moment of the start and not
 * by ticks, so it runs on while the screen sleeps and when the app is opened anew.
 */

import { db } from "../../store/database.js";
import { useLive } from "../../store/live.js";
import { lampLimit } from "../../store/preferences.js";
import { html, useEffect, useState } from "../../vendor/ui.js";
import { Notice } from "../notice.js";
import { duration } from "../wording.js";
import { Fold } from "./fold.js";
import { isRunning, LAMP_SINCE } from "./lamp.js";
import { NumberField } from "./number-field.js";
import { MOST_LAMP_S, readMinutes } from "./numbers.js";
import { OpenQuestions } from "./open-questions.js";

/** After so long somebody may have forgotten to stop it, s. */
const FORGOTTEN_S = 1800;

/** @param {{held: import("./held.js").Held, brief?: boolean}} props  brief: only while it runs */
export function LampTimer({ held, brief = false }) {
  const examination = held.examination.value;
  const [asking, setAsking] = useState(false);
  const running = isRunning(held);
  const since = Number(held.drafts.value[LAMP_SINCE]);
  const now = useSeconds(running);
  const elsewhere = useLive(
    () => lampOfOthers(held.id, examination?.object),
    [held.id, examination?.object],
    0,
  );
  if (!examination) return null;

  // A clock that was put back makes no negative time.
  const elapsed = running ? Math.max(0, Math.round((now - since) / 1000)) : 0;
  const own = Math.min(MOST_LAMP_S, (examination.lamp_s ?? 0) + elapsed);
  const limit = lampLimit.value * 60;

  const end = async (/** @type {number} */ lamp_s) => {
    setAsking(false);
    // In this order: a timer that is seen to run can be mended, a time that is gone cannot.
    if (lamp_s !== examination.lamp_s) await held.changeExamination({ lamp_s });
    held.draft(LAMP_SINCE, null);
  };
  const stop = () => (elapsed > FORGOTTEN_S ? setAsking(true) : end(own));

  return html`<section class="lamp stack" aria-label="Ultraviolet lamp">
    ${!brief && html`<h4>Time under the lamp</h4>`}
    <p class="lamp-time">
      <span class="big-word numeral" role="timer">${duration(own)}</span>
      <span>${running ? "The lamp is on; the timer runs." : "in this examination"}</span>
    </p>
    ${own > limit &&
    html`<${Notice} kind="problem">
      <p>
        ${running
          ? `More than the ${duration(limit)} set for one examination: switch the lamp off, then stop the timer.`
          : `This is more than the ${duration(limit)} set for one examination.`}
      </p>
    <//>`}
    ${asking
      ? html`<div role="group" aria-label="Was the lamp on all the time?">
          <p role="status">
            The timer ran for ${duration(elapsed)}. Was the lamp on all that time?
          </p>
          <div class="row">
            <button type="button" class="button" onClick=${() => end(own)}>
              Yes, add ${duration(own - examination.lamp_s)}
            </button>
            <button type="button" class="button" onClick=${() => end(examination.lamp_s)}>
              No, add nothing; I write it by hand
            </button>
          </div>
        </div>`
      : running
        ? html`<button type="button" class="button big" data-field="lamp" onClick=${stop}>
            Lamp off: stop the timer
          </button>`
        : html`<button
            type="button"
            class="button big"
            data-field="lamp"
            onClick=${() => held.draft(LAMP_SINCE, String(Date.now()))}
          >
            Lamp on: start the timer
          </button>`}
    ${!brief &&
    html`<p>
        All examinations of this object that the device carries:
        <span class="numeral"> ${duration(own + elsewhere)}</span>
      </p>
      <${Fold} name="Write the lamp time by hand">
        <${NumberField}
          held=${held}
          label="Lamp on in this examination"
          unit="min"
          fieldKey="examination:lamp_s"
          value=${Math.round((examination.lamp_s / 60) * 100) / 100}
          read=${readMinutes}
          onValue=${(/** @type {number | null} */ minutes) =>
            held.changeExamination({ lamp_s: Math.round((minutes ?? 0) * 60) })}
        />
      <//>
      <p class="soft small">
        The timer warns after ${duration(limit)} in one examination. Your department sets its own
        time in the <a href="#/settings">settings</a>; ours is common practice, no source.
      </p>
      <${OpenQuestions} held=${held} entity="examination" fields=${["lamp_s"]} />`}
  </section>`;
}

/** The moment now, ms, anew every second while something runs. */
function useSeconds(/** @type {boolean} */ running) {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    setNow(Date.now());
    if (!running) return undefined;
    const timer = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(timer);
  }, [running]);
  return now;
}

/** Seconds under the lamp in the object's other examinations that this tablet carries. */
async function lampOfOthers(/** @type {string} */ id, /** @type {string | undefined} */ object) {
  if (!object) return 0;
  const all = await db.examinations.where({ object }).toArray();
  return all.reduce((sum, each) => sum + (each.id === id ? 0 : (each.lamp_s ?? 0)), 0);
}
