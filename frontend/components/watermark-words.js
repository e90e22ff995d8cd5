/** What was recorded of a watermark, in words. */

import { lowerFirst, named } from "./wording.js";

/** @import { WatermarkRow } from "../store/types.js" */

/** "Watermark: crown", "Countermark" */
export function watermarkName(/** @type {Pick<WatermarkRow, "kind" | "motif" | "letters">} */ { kind, motif, letters }) {
  const about = motif.trim() || letters.trim();
  return named("kind", kind) + (about && `: ${lowerFirst(about)}`);
}

/** Each fact with its name; what was not said is left out. @returns {[string, string][]} */
export function watermarkFacts(/** @type {WatermarkRow} */ row) {
  const give = (/** @type {number | null} */ mm) => (mm === null ? "" : `${mm} ± ${row.uncertainty_mm} mm`);
  const years = [row.repertory_from_year, row.repertory_to_year].filter((year) => year !== null);
  /** @type {[string, string][]} */
  const facts = [
    ["Letters", row.letters],
    [
      "Seen and measured from",
      named("side", row.side) + (row.seen_from && `, ${lowerFirst(named("seen_from", row.seen_from))}`),
    ],
    ["Width, across the chain lines", give(row.width_mm)],
    ["Height, along them", give(row.height_mm)],
    ["To the chain line at its left", give(row.to_left_chain_mm)],
    ["To the chain line at its right", give(row.to_right_chain_mm)],
    ["Between these two chain lines", give(row.chain_interval_mm)],
    ["Chain lines that run through it", row.chains_within === null ? "" : String(row.chains_within)],
    ["Repertory", [row.repertory, row.repertory_number, row.repertory_place, years.join("–")].filter(Boolean).join(", ")],
    ["Match", row.match && named("match", row.match)],
  ];
  return facts.filter(([, words]) => words !== "");
}
