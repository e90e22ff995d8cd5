/** The photographs on their way to the server, each with the work it shows. */

import { db } from "../store/database.js";
import { sendings } from "../store/space.js";
import { objectOf } from "./unsent.js";

/** @import { PhotographRow, Sending } from "../store/types.js" */

/**
 * object  accession number
 * @typedef {Sending & {object: string, photograph: PhotographRow | undefined}} Waiting
 */

/**
 * Those under way first, then the smallest first, as they are sent.
 *
 * @param {number} most  to look up
 * @returns {Promise<{shown: Waiting[], all: Sending[]}>}
 */
export async function waitingPhotographs(most) {
  const all = await sendings(0).toArray();
  all.sort((a, b) => Number(b.url !== null) - Number(a.url !== null));
  return {
    shown: await Promise.all(all.slice(0, most).map(withItsObject)),
    all,
  };
}

/** @param {Sending} sending @returns {Promise<Waiting>} */
async function withItsObject(sending) {
  const photograph = await db.photographs.where({ sha256: sending.sha256 }).first();
  const object = await objectOf("photograph", photograph?.id ?? "", { ...photograph });
  return { ...sending, photograph, object };
}
