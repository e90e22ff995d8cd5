/** Examine: one calm form for one object, from the place to the signature. */

import { ChecklistSection } from "../components/examine/checklist-section.js";
import { takeInHand } from "../components/examine/held.js";
import { LocationSection } from "../components/examine/location-section.js";
import { NotesSection } from "../components/examine/notes-section.js";
import { ObjectHead } from "../components/examine/object-head.js";
import { PhotographsSection } from "../components/examine/photographs-section.js";
import { usePlaceMemory } from "../components/examine/place-memory.js";
import { ProgressBar } from "../components/examine/progress-bar.js";
import { SheetSection } from "../components/examine/sheet-section.js";
import { SignSection } from "../components/examine/sign-section.js";
import { WorkSection } from "../components/examine/work-section.js";
import { lazy } from "../components/lazy.js";
import { NotHere } from "../components/not-here.js";
import { TopBar } from "../components/top-bar.js";
import { shown } from "../router.js";
import { html, useEffect, useMemo, useSignalEffect, useState } from "../vendor/ui.js";

const PhotographView = lazy(
  async () => (await import("../components/examine/photograph-view.js")).PhotographView,
);
const CompareHeld = lazy(async () => {
  const { withStyles } = await import("../components/examine/on-sheet/parts.js");
  return (await withStyles(import("../components/examine/on-sheet/compare.js"))).CompareHeld;
});
const LiveCamera = lazy(
  async () => (await import("../components/examine/live-camera.js")).LiveCamera,
);

/** @param {{id: string}} props  of the examination */
export function Examine({ id }) {
  const held = useMemo(() => takeInHand(id), [id]);
  const [ready, setReady] = useState(false);
  useEffect(() => {
    held.ready.then(() => setReady(true));
    return () => held.letGo();
  }, [held]);

  const examination = held.examination.value;
  const isSigned = Boolean(examination?.signed_at);
  useSignalEffect(() => {
    // Each time this screen is shown: somebody may come back before the other one was loaded.
    const isShown = shown.value?.props.id === id;
    if (isShown && held.examination.value?.signed_at) location.replace(`#/examination/${id}`);
  });
  const check = held.loanCheck.value;
  const drawn = ready && Boolean(examination) && check !== undefined && !isSigned;
  usePlaceMemory(held, drawn);

  if (examination === null) return html`<${NotHere}
      title="Examine"
      what="This examination"
      why="Send and receive on the Sync screen if it was made on another one, or open it from its visit."
    />`;
  const number = held.object.value?.accession_number ?? "";
  return html`<div class="screen examine">
    <${TopBar}
      title=${`Examine ${number}`.trim()}
      back=${check
        ? `#/check/${check.id}?step=found`
        : examination
          ? `#/visit/${examination.visit}`
          : "#/visits"}
    />
    <main id="main" class="wide" aria-busy=${!drawn}>
      ${drawn &&
      html`<div>
          <${ObjectHead} held=${held} />
          ${!check && html`<${LocationSection} held=${held} />`}
          <${PhotographsSection} held=${held} />
        </div>
        <div>
          <${ChecklistSection} held=${held} />
          <${SheetSection} held=${held} />
          <${WorkSection} held=${held} />
          <${NotesSection} held=${held} />
          ${!check && html`<${SignSection} held=${held} />`}
        </div>`}
    </main>
    ${drawn &&
    html`<${ProgressBar} held=${held} />
      ${held.view.photograph.value && html`<${PhotographView} held=${held} />`}
      ${held.view.comparing.value && html`<${CompareHeld} held=${held} />`}
      ${held.view.camera.value && html`<${LiveCamera} held=${held} />`}`}
  </div>`;
}
