/**
 * Signing a check: its statement, its examination and the signatures are written in one
 * transaction, in the order in which the server takes them. What the server refused counts as not
 * signed; it is sent again only while it still says what the records say.
 */

import { hashOfText } from "../../imaging/hash.js";
import { db } from "../database.js";
import { durably } from "../durable.js";
import { newId } from "../ids.js";
import { create, save } from "../write.js";
import { openPoints } from "./points.js";
import { partsThatDiffer, statementOf } from "./statement.js";

/** @import { Change, LoanCheckRow, SignatureRow } from "../types.js" */

/**
 * One person's hand on the glass. No strokes: signed with the name alone.
 * @typedef {Pick<SignatureRow, "role" | "name" | "of" | "strokes">} Hand
 */

/**
 * Signs a check that nobody has signed yet, or puts further signatures below what was signed.
 *
 * @param {string} id  of the check
 * @param {string} statement  the text that these people were shown
 * @param {Hand[]} hands  at least one; the examination bears the courier's name, else the first
 * @throws {Error} with a sentence when it could not be written; then nothing of it was
 */
export async function sign(id, statement, hands) {
  // Before the transaction, which would not wait for it.
  const sha256 = await hashOfText(statement);
  const signed_at = new Date().toISOString();
  await durably(async () => {
    await withdrawRefused(id);
    const check = await heldCheck(id);
    if (!check.statement) await closeCheck(check, statement);
    else if (check.statement !== statement) throw new Error(SIGNED_ELSEWHERE);
    const examination = await db.examinations.get(check.examination);
    if (examination && !examination.signed_at) {
      await save("examination", examination.id, { signed_name: nameOf(hands), signed_at });
    }
    for (const hand of hands) await create("signature", { loan_check: id, ...hand, signed_at, sha256 });
  });
}

const SIGNED_ELSEWHERE =
  "This check was signed on another device meanwhile. Nothing is lost: read what stands, then sign that.";

/** @param {LoanCheckRow} check @param {string} statement */
async function closeCheck(check, statement) {
  const open = await openPoints(check);
  if (open.length) {
    throw new Error("Some points have neither an answer nor a reason. See to them, then sign.");
  }
  if ((await statementOf(check)) !== statement) {
    throw new Error("Something was changed since this was shown. Read it again, then sign.");
  }
  await save("loan_check", check.id, { statement });
}

/** @param {string} id */
async function heldCheck(id) {
  const check = await db.loan_checks.get(id);
  if (!check) throw new Error("This check is no longer on this device. Go back and open it again.");
  return check;
}

/**
 * Takes back what the server refused of a signing, to make room for a new one at the end of the
 * line, behind all that was mended. Call it inside a transaction.
 *
 * @param {string} id  of the check
 */
async function withdrawRefused(id) {
  const check = await heldCheck(id);
  const signatures = await db.signatures.where({ loan_check: id }).primaryKeys();
  const line = await db.outbox.where("entity_id").anyOf([id, check.examination, ...signatures]).toArray();
  for (const change of line.filter(isUnanswered)) {
    const { statement, signed_at, signed_name, ...others } = change.fields;
    const isSigning = statement !== undefined || signed_at !== undefined;
    if (change.entity === "signature") {
      await db.outbox.delete(/** @type {number} */ (change.order));
      await db.signatures.delete(change.entity_id);
    } else if (isSigning && Object.keys(others).length) {
      await db.outbox.put({ ...change, id: newId(), fields: others });
    } else if (isSigning) {
      await db.outbox.delete(/** @type {number} */ (change.order));
    }
  }
}

/** Refused, or refused before and not under way anew. @param {Change} change */
function isUnanswered({ state, again, tried }) {
  return state === "refused" || (again === true && !tried);
}

/**
 * Looks at signings that the server refused and that wait to be sent again. One that still says
 * what the records say counts as signed anew; of another the signatures are withdrawn, for nobody
 * signed what was said since. Call it before changes are sent.
 */
export async function checkResent() {
  const resent = await db.outbox
    .where({ state: "waiting" })
    .filter(({ again, fields }) => again === true && "statement" in fields)
    .toArray();
  if (resent.length === 0) return;
  await durably(async () => {
    for (const { entity_id, fields } of resent) {
      const check = await db.loan_checks.get(entity_id);
      if (!check) continue;
      const statement = /** @type {string} */ (fields.statement);
      const now = await statementOf(check).catch(() => null);
      // What is not carried any more cannot be held against it: the server judges.
      const isSame = now === null || partsThatDiffer(statement, now).length === 0;
      if (isSame && (await openPoints(check)).length === 0) await signedAgain(check, statement);
      else await withdrawRefused(entity_id);
    }
  });
}

/** @param {LoanCheckRow} check @param {string} statement */
async function signedAgain(check, statement) {
  await db.loan_checks.update(check.id, { statement });
  const line = await db.outbox.where({ entity_id: check.examination }).toArray();
  const signed_at = line.find(({ fields }) => fields.signed_at)?.fields.signed_at;
  if (!signed_at) return;
  const hands = await db.signatures.where({ loan_check: check.id }).sortBy("id");
  await db.examinations.update(check.examination, {
    signed_at: /** @type {string} */ (signed_at),
    signed_name: nameOf(hands),
  });
}

/** Whose name the examination bears. @param {Pick<Hand, "role" | "name">[]} hands */
function nameOf(hands) {
  return (hands.find(({ role }) => role === "courier") ?? hands[0])?.name ?? "";
}
