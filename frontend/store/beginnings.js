/**
 * What a record holds before anybody has said anything: the same as the server would fill in,
 * so that a row made here reads like one that came from there.
 */

import { session } from "./session.js";

/** @import { Entity, Fields } from "./types.js" */

/** @type {Record<Entity, Fields>} */
export const EMPTY = {
  location: {},
  object: {},
  move: { to_location: null, from_location: null, to_place: "", from_place: "", note: "" },
  visit: { location: null, place: "", ended_at: null, note: "" },
  examination: {
    location: null,
    place: "",
    location_confirmed: false,
    position: null,
    sheet_width_mm: null,
    sheet_height_mm: null,
    sheet_uncertainty_mm: 1,
    mount: "",
    verso_seen: "",
    nothing_seen: false,
    grade: "",
    notes: "",
    lamp_s: 0,
    signed_at: null,
    signed_name: "",
  },
  photograph: {
    azimuth_deg: null,
    side: "recto",
    file_name: "",
    width_px: null,
    height_px: null,
    caption: "",
    homography: null,
    placing: null,
    shot_check: null,
    trouble: "",
  },
  observation: {
    nature: "damage",
    extent: "",
    severity: "",
    side: "recto",
    lights: [],
    note: "",
    mark: null,
    region: null,
  },
  measurement: { observation: null, unit: "mm", photograph: null, points: null },
  recommendation: { hours: null, hazards: [], note: "" },
  watermark: {
    kind: "watermark",
    motif: "",
    letters: "",
    side: "recto",
    seen_from: "",
    region: null,
    width_mm: null,
    height_mm: null,
    to_left_chain_mm: null,
    to_right_chain_mm: null,
    chain_interval_mm: null,
    uncertainty_mm: 0.5,
    chains_within: null,
    repertory: "",
    repertory_number: "",
    repertory_place: "",
    repertory_from_year: null,
    repertory_to_year: null,
    match: "",
    note: "",
  },
  amendment: { subject: "examination", field: "", before: null, after: null },
  loan: {},
  loaned_object: {},
  loan_check: {
    earlier: null,
    venue: "",
    crate: "",
    seals: "",
    seals_whole: "",
    hours_acclimatised: null,
    logger: "",
    temperature_c: null,
    humidity_percent: null,
    glazing: "",
    note: "",
    statement: "",
  },
  point_check: { answer: "", reason: "", photograph: null, now: null },
  signature: { of: "" },
  stop: {},
};

/** Fields that hold the moment the record was made. @type {Partial<Record<Entity, string>>} */
const MOMENT = {
  move: "at",
  visit: "started_at",
  examination: "started_at",
  photograph: "taken_at",
  amendment: "signed_at",
  signature: "signed_at",
};

/**
 * @param {Entity} entity
 * @param {Fields} fields  what is known already
 * @returns {{shown: Fields, sent: Fields}}  all fields of the new row, and those to be sent:
 *   the moment is sent because the server would put its own, later one
 */
export function beginning(entity, fields) {
  const moment = MOMENT[entity];
  const known = moment ? { [moment]: new Date().toISOString(), ...fields } : fields;
  return { shown: { ...EMPTY[entity], ...authorOf(entity), ...known }, sent: wireFields(known) };
}

/** Without the tablet's own fields. @param {Fields} fields @returns {Fields} */
export function wireFields(fields) {
  return Object.fromEntries(Object.entries(fields).filter(([name]) => !name.startsWith("_")));
}

/** The server takes the author from the session; here it is only shown. @param {Entity} entity */
function authorOf(entity) {
  const person = session.value?.person;
  if (!person) return {};
  if (entity === "examination") return { examiner: person.id, examiner_name: person.name };
  if (entity === "visit" || entity === "move") return { person: person.id, person_name: person.name };
  return {};
}
