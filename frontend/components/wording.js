/** How numbers, dates and codes are put into words. Every number has its unit. */

/** "Old mould" → "old mould", for use inside a sentence; a name in capitals stays. */
export function lowerFirst(/** @type {string} */ text) {
  return /^.[A-Z]/.test(text) ? text : text.charAt(0).toLowerCase() + text.slice(1);
}

/** "old mould" → "Old mould". */
export function upperFirst(/** @type {string} */ text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Where a field's own name would not read well. @type {Record<string, string>} */
const FIELDS = {
  lamp_s: "ultraviolet lamp time",
  shot_check: "check of the shot",
  homography: "placing on the sheet",
  placing: "how it was placed on the sheet",
  points: "where it was measured",
  motif: "motif of the watermark",
  letters: "letters in the watermark",
  seen_from: "side of the mould that faces you",
  to_left_chain_mm: "distance to the chain line at the left",
  to_right_chain_mm: "distance to the chain line at the right",
  chain_interval_mm: "distance between the chain lines about it",
  uncertainty_mm: "uncertainty of the watermark's measures",
  chains_within: "chain lines within the watermark",
  repertory_number: "number in the repertory",
  repertory_place: "place in the repertory",
  repertory_from_year: "first year in the repertory",
  repertory_to_year: "last year in the repertory",
  match: "match with the repertory",
  earlier: "state it starts from",
  seals: "seal numbers",
  seals_whole: "whether the seals are whole",
  hours_acclimatised: "hours acclimatised",
  logger: "data logger",
  temperature_c: "temperature",
  humidity_percent: "relative humidity",
  statement: "what was signed",
  answer: "how the point was found",
  now: "how it stands now",
  loan_check: "check on a loan",
  point_check: "point of a check",
  stop: "stop on a walk",
  missing: "why it could not be examined",
};

/** A field's name on the wire in words: "sheet_width_mm" → "sheet width". */
export function fieldInWords(/** @type {string} */ field) {
  return FIELDS[field] ?? field.replace(/_(mm|px|deg|at|s)$/, "").replaceAll("_", " ");
}

/** ["a", "b", "c"] → "a, b and c" */
export function listed(/** @type {string[]} */ words) {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}

/*
 * Numbers and dates are put into words by hand: the first use of the browser's own formatting
 * costs a slow tablet a tenth of a second, just when the app opens.
 */

/** 12345 → "12,345" */
export function grouped(/** @type {number} */ n) {
  return String(n).replace(/\B(?=(\d{3})+$)/g, ",");
}

/** `count(2, "record")` → "2 records"; give the plural when it is not made with an s. */
export function count(/** @type {number} */ n, /** @type {string} */ one, many = `${one}s`) {
  return `${grouped(n)} ${n === 1 ? one : many}`;
}

/** Bytes as "640 kB", "4.2 MB", "1.3 GB": decimal units, as storage is sold. */
export function bytes(/** @type {number} */ n) {
  if (n < 1000) return `${n} bytes`;
  const units = ["kB", "MB", "GB"];
  let value = n / 1000;
  while (value >= 999.5 && units.length > 1) {
    value /= 1000;
    units.shift();
  }
  return `${value >= 10 ? Math.round(value) : Math.round(value * 10) / 10} ${units[0]}`;
}

const MONTHS =
  "January February March April May June July August September October November December".split(" ");

/** An ISO time, or a calendar date, as "12 March 2025". */
export function day(/** @type {string | number} */ time) {
  // A date alone would be read as midnight in Greenwich: the day before, west of it.
  const date = new Date(typeof time === "string" && time.length === 10 ? `${time}T00:00` : time);
  return `${date.getDate()} ${MONTHS[date.getMonth()]} ${date.getFullYear()}`;
}

/** An ISO time as "14:05". */
export function clock(/** @type {string | number} */ time) {
  const date = new Date(time);
  return [date.getHours(), date.getMinutes()].map((n) => String(n).padStart(2, "0")).join(":");
}

/** An ISO time as "12 March 2025, 14:05". */
export function dayAndTime(/** @type {string | number} */ time) {
  return `${day(time)}, ${clock(time)}`;
}

/** The same with its zone, "12 March 2025, 14:05 UTC+1": for who reads it elsewhere. */
export function moment(/** @type {string | number} */ time) {
  const minutes = -new Date(time).getTimezoneOffset();
  const [hours, rest] = [Math.floor(Math.abs(minutes) / 60), Math.abs(minutes) % 60];
  const off = `${hours}${rest ? `:${String(rest).padStart(2, "0")}` : ""}`;
  return `${dayAndTime(time)} UTC${minutes ? `${minutes < 0 ? "−" : "+"}${off}` : ""}`;
}

/** A sheet's size in mm, height first as the trade gives it, or "" when not both are known. */
export function sheetSize(
  /** @type {number | null | undefined} */ height,
  /** @type {number | null | undefined} */ width,
) {
  return height && width ? `${height} × ${width} mm` : "";
}

/** What the check of a shot told: its sentences, or that it found no fault. */
export function shotCheckInWords(
  /** @type {Pick<import("../store/types.js").ShotCheck, "sentences">} */ { sentences },
) {
  return sentences.length
    ? `Checked after the shot. ${sentences.join(" ")}`
    : "Checked after the shot: sharp, steady and well exposed.";
}

/** Seconds as "45 s", "12 min 5 s", "2 h 10 min". */
export function duration(/** @type {number} */ seconds) {
  const s = Math.max(0, Math.round(seconds));
  const [h, min] = [Math.floor(s / 3600), Math.floor(s / 60) % 60];
  const parts = h ? [`${h} h`, min && `${min} min`] : [min && `${min} min`, s % 60 && `${s % 60} s`];
  return parts.filter(Boolean).join(" ") || "0 s";
}

/** The purposes of a visit, each with a line that says what it is for. */
export const purposes = [
  {
    value: "storage-round",
    label: "Storage round",
    hint: "Walk the shelves and look at what is there.",
  },
  {
    value: "gallery-round",
    label: "Gallery round",
    hint: "Check what hangs or lies on view, in place.",
  },
  {
    value: "off-site",
    label: "Off-site visit",
    hint: "Examine works in another building or collection.",
  },
  {
    value: "loan-check",
    label: "Loan check",
    hint: "Record the state as a loan leaves, arrives or returns.",
  },
  {
    value: "bench",
    label: "Bench examination",
    hint: "One object, every light, all the time it needs.",
  },
];

/** The name of a visit's purpose, for example "Storage round". */
export function purposeName(/** @type {string} */ code) {
  return purposes.find((purpose) => purpose.value === code)?.label ?? code;
}

/** @type {Record<string, Record<string, string>>} */
const names = {
  nature: { damage: "Damage", feature: "Feature, not damage", unsure: "Not yet decided" },
  extent: {
    spot: "One place",
    several: "Several places",
    edge: "Along an edge",
    area: "A whole area",
    overall: "Overall",
  },
  severity: { slight: "Slight", moderate: "Moderate", severe: "Severe" },
  side: { recto: "Recto", verso: "Verso" },
  kind: { watermark: "Watermark", countermark: "Countermark" },
  seen_from: { mould: "Mould side", felt: "Felt side" },
  match: { identical: "Identical", variant: "A variant", type: "Of the same type only" },
  role: {
    courier: "Courier",
    receiver: "Receiver",
    conservator: "Conservator",
    registrar: "Registrar",
  },
  verso_seen: {
    yes: "Verso examined",
    part: "Verso seen in part",
    no: "Verso not accessible",
  },
  stage: { outgoing: "Outgoing", arrival: "Arrival", interim: "Interim", return: "Return" },
  seals_whole: { yes: "Whole", no: "Broken or missing" },
  glazing: {
    none: "Not glazed",
    whole: "Whole",
    scratched: "Scratched or chipped",
    cracked: "Cracked",
    broken: "Broken",
  },
  answer: { same: "Same", changed: "Changed", "not-visible": "Not visible", "": "Left open" },
};

/** The words for a coded value: `named("extent", "edge")` → "Along an edge". */
export function named(/** @type {string} */ field, /** @type {string} */ code) {
  return names[field]?.[code] ?? code;
}

/** The codes and words of a coded field, ready for Choice. */
export function optionsOf(/** @type {string} */ field) {
  return Object.entries(names[field] ?? {}).map(([value, label]) => ({ value, label }));
}
