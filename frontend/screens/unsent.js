/** All unsent work into a file, for anybody at the tablet: it needs no sign-in and no network. */

import { UnsentFile } from "../components/sync/unsent-file.js";
import { TopBar } from "../components/top-bar.js";
import { html } from "../vendor/ui.js";

export function UnsentWork() {
  return html`<div class="screen">
    <${TopBar} title="Unsent work" back="#/visits" />
    <main id="main"><${UnsentFile} /></main>
  </div>`;
}
