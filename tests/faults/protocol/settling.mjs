/**
 * Knows when a process has nothing left to do but wait for its next line: the one thing that
 * makes the order of events on the tablets the test's own choice.
 */

let underWay = 0;

/** Counts a promise as work under way. One that may wait for the network is not counted. */
export function track(promise, { waits = false } = {}) {
  if (!waits) {
    underWay += 1;
    promise.finally(() => (underWay -= 1)).catch(() => undefined);
  }
  return promise;
}

const later = globalThis.setImmediate;

// The database in memory does each of its steps in one of these.
globalThis.setImmediate = (work, ...rest) => {
  underWay += 1;
  return later(() => {
    underWay -= 1;
    work(...rest);
  });
};

// Outside the event loop's own order: reading a file or an answer, and reckoning a hash.
for (const { prototype } of [Blob, Response]) {
  const read = prototype.arrayBuffer;
  prototype.arrayBuffer = function () {
    return track(read.call(this));
  };
}
const digest = crypto.subtle.digest;
crypto.subtle.digest = (...asked) => track(digest.apply(crypto.subtle, asked));

const QUIET_TURNS = 3;

/** Resolves when no work is under way for some turns of the event loop. */
export async function hasSettled() {
  for (let quiet = 0; quiet < QUIET_TURNS; quiet += 1) {
    await new Promise((resolve) => later(resolve));
    if (underWay > 0) quiet = -1;
  }
}
