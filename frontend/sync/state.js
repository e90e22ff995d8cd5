/** How it stands between tablet and server, for every screen to show. */

import { signal } from "../vendor/ui.js";

/** @import { Matter } from "./needs-you.js" */

/**
 * online      whether the device believes it has a network
 * busy        whether something is being sent or fetched now
 * records     records with changes still to be sent
 * photographs files still to be sent, and `bytes` their size together
 * carrying    whether pictures of a loan are being fetched now, and picturesProblem why the last
 *             attempt at it failed, in a sentence
 * held        whether photographs stay here until the person, or another network, lets them go
 * needsYou    what only the person can settle
 * lastSentAt  when tablet and server were last in step, ISO 8601
 * persisted   whether the browser promised to keep the storage; null if it cannot say
 * usage       bytes the app takes on the tablet, of a `quota`; 0 when not known
 * roomFor     how many more photographs of the usual size go in; null when not known
 * progress    rows fetched so far, while fetching; the total is not known beforehand
 * problem     why the last attempt failed, in a sentence
 * @typedef {{
 *   online: boolean,
 *   busy: boolean,
 *   records: number,
 *   photographs: number,
 *   bytes: number,
 *   carrying: boolean,
 *   picturesProblem: string | null,
 *   held: boolean,
 *   needsYou: Matter[],
 *   lastSentAt: string | null,
 *   persisted: boolean | null,
 *   usage: number,
 *   quota: number,
 *   roomFor: number | null,
 *   progress: {done: number, total: number | null} | null,
 *   problem: string | null,
 * }} SyncState
 */

export const syncState = signal(
  /** @type {SyncState} */ ({
    online: navigator.onLine,
    busy: false,
    records: 0,
    photographs: 0,
    bytes: 0,
    carrying: false,
    picturesProblem: null,
    held: false,
    needsYou: [],
    lastSentAt: null,
    persisted: null,
    usage: 0,
    quota: 0,
    roomFor: null,
    progress: null,
    problem: null,
  }),
);
