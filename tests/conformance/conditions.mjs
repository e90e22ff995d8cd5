/** The tablet's part of test_conditions.py: a JSON list of cases comes in, their rows go out. */

import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import { text } from "node:stream/consumers";

import { conditionsOf, notedOf } from "../../frontend/components/loan/condition-rows.js";

const cases = JSON.parse(await text(process.stdin));
const rows = cases.map(({ check, loan, loaned, packed }) => ({
  rows: conditionsOf(check, loan, loaned ?? undefined, packed ?? undefined),
  noted: notedOf(check, loan),
}));
process.stdout.write(JSON.stringify(rows));
