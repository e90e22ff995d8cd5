/** How much of a loan is on this device, in words. */

import { bytes, count } from "../wording.js";

/** @import { Carried } from "../../store/loans/carried.js" */

/**
 * Says that all is here only when it is: every record, every picture that can be had, and the app.
 *
 * @param {Carried} carried
 * @param {{busy: boolean, online: boolean, isAppKept: boolean}} how
 * @param {string} word  "phone" or "tablet"
 * @returns {{state: "whole" | "coming" | "open", sentence: string}}
 */
export function carriedInWords({ pictures, here, bytes: size, absent, rows }, how, word) {
  const of = `${here} of ${count(pictures, "picture")} carried${size ? `, ${bytes(size)}` : ""}`;
  if (rows && here === pictures && how.isAppKept) {
    const what = pictures ? `: ${count(pictures, "picture")}${size ? `, ${bytes(size)}` : ""}` : "";
    return { state: "whole", sentence: `All of it is on this ${word}${what}. You need no network from here.` };
  }
  if (how.busy && how.online) {
    const sentence = rows ? `${of}. Keep the network.` : "The records are coming. Keep the network.";
    return { state: "coming", sentence };
  }
  if (!rows) return { state: "open", sentence: "Not all records are here yet. Connect to a network." };
  if (here === pictures) {
    return { state: "open", sentence: `${of}, but Fieldleaf itself is not kept on this ${word} yet.` };
  }
  if (here + absent.length === pictures) {
    return { state: "open", sentence: `${of}. All that can be had is on this ${word}.` };
  }
  const then = how.online ? "The rest is still to come." : "The rest needs a network.";
  return { state: "open", sentence: `${of}. ${then}` };
}
