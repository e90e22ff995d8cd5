/** The tablet's part of test_hands.py: a JSON list of [stage, roles] comes in, what it says goes out. */

import "../../frontend/node_modules/fake-indexeddb/auto/index.mjs";

import { text } from "node:stream/consumers";

import { halfSigned } from "../../frontend/components/loan/words.js";

const cases = JSON.parse(await text(process.stdin));
const told = cases.map(([stage, roles]) => halfSigned({ stage }, roles.map((role) => ({ role }))));
process.stdout.write(JSON.stringify(told));
