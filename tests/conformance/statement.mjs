/**
 * The tablet's part of test_statement.py: one JSON line comes in, one goes out.
 *
 *   {"rows", "check"}   rows as a pull brings them  →  {"statement", "parts"}
 *   {"rows", "person", "device", "object", "loan", "earlier"}  a check is made and signed
 *                                                  →  {"check", "statement", "changes"}
 */

import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import { createInterface } from "node:readline";

import { db, tableOf } from "../../frontend/store/database.js";
import { sign } from "../../frontend/store/loans/signing.js";
import { PARTS, statementOf } from "../../frontend/store/loans/statement.js";
import { merge } from "../../frontend/store/merge.js";
import { session } from "../../frontend/store/session.js";
import { create, save } from "../../frontend/store/write.js";

async function carry(rows) {
  for (const row of rows) {
    const held = merge(row, undefined, []);
    if (held) await tableOf(row.entity).put(held);
  }
}

async function signed({ person, device, object, loan, earlier }) {
  session.value = { token: "", person, device_id: device, expires_at: "2099-01-01T00:00:00Z" };
  const visit = await create("visit", { purpose: "loan-check", name: "Crate room" });
  const examination = await create("examination", {
    visit, object, sheet_width_mm: 310, sheet_height_mm: 225.5, notes: "“Kühl”, 17 °C\n\u2028end",
  });
  const check = await create("loan_check", {
    loan, examination, earlier, stage: "arrival", venue: "Gallery of the Salt Quay", humidity_percent: 50,
  });
  const shot = {
    examination, light: "raking", azimuth_deg: 290, side: "recto", sha256: "ab".repeat(32),
    size_bytes: 1000, content_type: "image/png", width_px: 640, height_px: 480,
  };
  const photograph = await create("photograph", shot);
  const known = await db.observations.where({ examination: earlier }).sortBy("id");
  for (const [at, { term }] of known.entries()) {
    const now = await create("observation", { examination, term, severity: "slight", lights: ["raking", "normal"] });
    await save("observation", now, {
      region: { points: [[1, 2.5], [30.25, 2], [30, 40]], kind: "polygon" },
      mark: { y: 0.5, x: 0.25, photograph },
    });
    const answer = at ? { answer: "same" } : { answer: "changed", reason: "Longer." };
    await create("point_check", { loan_check: check, observation: known[at].id, now, photograph, ...answer });
    await create("measurement", { examination, observation: now, what: "Tear", value: 12, uncertainty: 0.5 });
  }
  const statement = await statementOf(await db.loan_checks.get(check));
  await sign(check, statement, [
    { role: "courier", name: person.name, of: "Port Ellery", strokes: [[[1, 2], [3, 4]]] },
    { role: "receiver", name: "Bo Lind", of: "Salt Quay", strokes: [] },
  ]);
  const changes = await db.outbox.orderBy("order").toArray();
  const sent = changes.map(({ id, entity, entity_id, fields, base, at }) => ({ id, entity, entity_id, fields, base, at }));
  return { check, statement, changes: sent };
}

for await (const line of createInterface({ input: process.stdin })) {
  const asked = JSON.parse(line);
  await Promise.all(db.tables.map((table) => table.clear()));
  await carry(asked.rows);
  const answer = asked.check
    ? {
        statement: await statementOf(await db.loan_checks.get(asked.check)),
        parts: Object.fromEntries(Object.entries(PARTS).map(([part, { fields }]) => [part, fields])),
      }
    : await signed(asked);
  process.stdout.write(JSON.stringify(answer) + "\n");
}
db.close();
