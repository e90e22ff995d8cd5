/** What people have put in before they signed: kept like every other word, until it is signed. */

import { readSetting, writeSetting } from "../../store/database.js";
import { session } from "../../store/session.js";
import { useEffect, useState } from "../../vendor/ui.js";

/** @import { LoanCheckRow, SignatureRow } from "../../store/types.js" */
/** @import { HandDraft } from "./hand.js" */

/**
 * alone  only one person is there: the other one signs later
 * @typedef {{hands: HandDraft[], alone: boolean}} Draft
 */

/**
 * @param {Pick<LoanCheckRow, "id" | "stage">} check
 * @returns {{
 *   draft: Draft | null,
 *   change: (fields: Partial<Draft>) => void,
 *   changeHand: (at: number, fields: Partial<HandDraft>) => void,
 *   problem: string,
 * }}  null until it was read
 */
export function useDraft({ id, stage }) {
  const [draft, setDraft] = useState(/** @type {Draft | null} */ (null));
  const [problem, setProblem] = useState("");
  const key = keyOf(id);
  useEffect(() => {
    readSetting(key).then((kept) => setDraft(kept ?? { hands: handsFor(stage), alone: false }));
  }, [key]);
  const keep = (/** @type {(draft: Draft) => Draft} */ changed) =>
    setDraft((before) => {
      const after = before && changed(before);
      if (after) {
        writeSetting(key, after).then(
          () => setProblem(""),
          () => setProblem("This is not kept on the device yet: leave this screen open until it is signed."),
        );
      }
      return after;
    });
  return {
    draft,
    change: (fields) => keep((before) => ({ ...before, ...fields })),
    changeHand: (at, fields) =>
      keep((before) => ({
        ...before,
        hands: before.hands.map((hand, place) => (place === at ? { ...hand, ...fields } : hand)),
      })),
    problem,
  };
}

/** The setting that holds what was put in for a check. @param {string} check */
export function keyOf(check) {
  return `signing:${check}`;
}

/** Those who usually sign: whoever works on this device first. @param {LoanCheckRow["stage"]} stage */
export function handsFor(stage) {
  const own = session.value?.person.name ?? "";
  const isCourier = session.value?.loan !== undefined || session.value?.person.role === "courier";
  const first = isCourier ? "courier" : "conservator";
  const second = stage === "outgoing" && !isCourier ? "courier" : "receiver";
  return [handOf(first, own), handOf(second, "")];
}

/** @param {SignatureRow["role"]} role @param {string} name @returns {HandDraft} */
export function handOf(role, name) {
  return { role, name, of: "", strokes: [], byName: false, signed: "" };
}
