/**
 * The shapes of what the tablet keeps. Types only: nothing here runs.
 *
 * Rows are named and spelled as on the wire. Lengths are in millimetres, angles in degrees,
 * moments are ISO 8601 strings in UTC. Fields that begin with `_` are the tablet's own and
 * are never sent.
 */

/**
 * What every synced row carries. `revision` is the number of the last change the server
 * reported, 0 for a row that only this tablet knows.
 * @typedef {{id: string, revision: number}} Row
 *
 * @typedef {Row & {
 *   parent: string | null,
 *   kind: "site" | "building" | "room" | "unit" | "shelf" | "wall",
 *   name: string,
 *   order: number,
 * }} LocationRow
 *
 * @typedef {Row & {
 *   accession_number: string,
 *   title: string,
 *   maker: string,
 *   date_text: string,
 *   earliest_year: number | null,
 *   latest_year: number | null,
 *   width_mm: number | null,
 *   height_mm: number | null,
 *   support: string,
 *   media: string,
 *   studio: string,
 *   significance: string,
 *   value_band: string,
 *   mounts: string,
 *   location: string | null,
 *   off_site_place: string,
 * }} ObjectRow
 *
 * @typedef {Row & {
 *   object: string,
 *   to_location: string | null,
 *   from_location: string | null,
 *   to_place: string,
 *   from_place: string,
 *   at: string,
 *   person: string | null,
 *   person_name: string,
 *   note: string,
 * }} MoveRow
 *
 * @typedef {"storage-round" | "gallery-round" | "off-site" | "loan-check" | "bench"} Purpose
 *
 * @typedef {Row & {
 *   purpose: Purpose,
 *   name: string,
 *   location: string | null,
 *   place: string,
 *   person: string | null,
 *   person_name: string,
 *   started_at: string,
 *   ended_at: string | null,
 *   note: string,
 * }} VisitRow
 *
 * @typedef {{latitude: number, longitude: number, accuracy_m: number}} Position
 *
 * @typedef {Row & {
 *   visit: string,
 *   object: string,
 *   examiner: string | null,
 *   examiner_name: string,
 *   started_at: string,
 *   location: string | null,
 *   place: string,
 *   location_confirmed: boolean,
 *   position: Position | null,
 *   sheet_width_mm: number | null,
 *   sheet_height_mm: number | null,
 *   sheet_uncertainty_mm: number,
 *   mount: string,
 *   verso_seen: "" | "yes" | "part" | "no",
 *   nothing_seen: boolean,
 *   grade: string,
 *   notes: string,
 *   lamp_s: number,
 *   signed_at: string | null,
 *   signed_name: string,
 * }} ExaminationRow
 *
 * @typedef {"recto" | "verso"} Side
 *
 * How a photograph was laid on the sheet's millimetres: by the sheet's four corners, from its top
 * left one clockwise as seen; by the two ends of a scale bar; or by a photograph of the same side
 * that was placed before. Points in pixels of the upright picture, `mm_per_px` at its middle,
 * `uncertainty_mm` the standard uncertainty of a place on the sheet.
 * @typedef {{
 *   kind: "corners" | "scale" | "aligned",
 *   points: [number, number][],
 *   size_mm: number[],
 *   mm_per_px: number,
 *   uncertainty_mm: number,
 *   photograph?: string,
 * }} Placing
 *
 * @typedef {{sharp: boolean, steady: boolean, exposed: boolean, sentences: string[]}} ShotCheck
 *
 * @typedef {Row & {
 *   examination: string,
 *   light: string,
 *   azimuth_deg: number | null,
 *   side: Side,
 *   sha256: string,
 *   size_bytes: number,
 *   content_type: string,
 *   file_name: string,
 *   width_px: number | null,
 *   height_px: number | null,
 *   taken_at: string,
 *   caption: string,
 *   homography: number[] | null,
 *   placing: Placing | null,
 *   shot_check: ShotCheck | null,
 *   trouble: string,
 * }} PhotographRow
 *
 * A place on one photograph, as shares (0…1) of its width and height.
 * @typedef {{photograph: string, x: number, y: number}} Mark
 *
 * @typedef {Row & {
 *   examination: string,
 *   term: string,
 *   nature: "damage" | "feature" | "unsure",
 *   extent: "" | "spot" | "several" | "edge" | "area" | "overall",
 *   severity: "" | "slight" | "moderate" | "severe",
 *   side: Side,
 *   lights: string[],
 *   note: string,
 *   mark: Mark | null,
 *   region: {kind: "polygon", points: [number, number][]} | null,
 * }} ObservationRow
 *
 * @typedef {Row & {
 *   examination: string,
 *   observation: string | null,
 *   what: string,
 *   value: number,
 *   uncertainty: number,
 *   unit: "mm" | "mm2",
 *   photograph: string | null,
 *   points: [number, number][] | null,
 * }} MeasurementRow
 *
 * @typedef {Row & {
 *   examination: string,
 *   kind_of_work: string,
 *   hours: number | null,
 *   hazards: string[],
 *   note: string,
 * }} RecommendationRow
 *
 * @typedef {Row & {
 *   examination: string,
 *   kind: "watermark" | "countermark",
 *   motif: string,
 *   letters: string,
 *   side: Side,
 *   seen_from: "" | "mould" | "felt",
 *   region: {kind: "polygon", points: [number, number][]} | null,
 *   width_mm: number | null,
 *   height_mm: number | null,
 *   to_left_chain_mm: number | null,
 *   to_right_chain_mm: number | null,
 *   chain_interval_mm: number | null,
 *   uncertainty_mm: number,
 *   chains_within: number | null,
 *   repertory: string,
 *   repertory_number: string,
 *   repertory_place: string,
 *   repertory_from_year: number | null,
 *   repertory_to_year: number | null,
 *   match: "" | "identical" | "variant" | "type",
 *   note: string,
 * }} WatermarkRow
 *
 * @typedef {Row & {
 *   examination: string,
 *   subject: string,
 *   field: string,
 *   before: unknown,
 *   after: unknown,
 *   reason: string,
 *   signed_at: string,
 *   signed_name: string,
 * }} AmendmentRow
 *
 * Days are ISO 8601 calendar dates. What is null was not agreed.
 * @typedef {{name: string, first_day: string, last_day: string}} Venue
 *
 * @typedef {Row & {
 *   reference: string,
 *   title: string,
 *   direction: "out" | "in",
 *   lender: string,
 *   borrower: string,
 *   first_day: string,
 *   last_day: string,
 *   venues: Venue[],
 *   couriers: string[],
 *   most_lux: number | null,
 *   most_ultraviolet_uw_lm: number | null,
 *   coolest_c: number | null,
 *   warmest_c: number | null,
 *   driest_percent: number | null,
 *   dampest_percent: number | null,
 *   steepest_display_deg: number | null,
 *   hours_to_acclimatise: number | null,
 *   handling: string,
 *   framing: string,
 *   note: string,
 * }} LoanRow
 *
 * @typedef {Row & {
 *   loan: string,
 *   object: string,
 *   crate: string,
 *   frame: string,
 *   glazing: string,
 *   order: number,
 * }} LoanedObjectRow
 *
 * @typedef {"outgoing" | "arrival" | "interim" | "return"} Stage
 *
 * `earlier` is the signed examination that the check starts from. Once `statement` is filled the
 * check is signed and stays as it is.
 * @typedef {Row & {
 *   loan: string,
 *   examination: string,
 *   earlier: string | null,
 *   stage: Stage,
 *   venue: string,
 *   crate: string,
 *   seals: string,
 *   seals_whole: "" | "yes" | "no",
 *   hours_acclimatised: number | null,
 *   logger: string,
 *   temperature_c: number | null,
 *   humidity_percent: number | null,
 *   glazing: "" | "none" | "whole" | "scratched" | "cracked" | "broken",
 *   note: string,
 *   statement: string,
 * }} LoanCheckRow
 *
 * How an observation of an earlier state was found. `now` is the same observation in the check's
 * own examination. No answer, with a reason: it was left open.
 * @typedef {Row & {
 *   loan_check: string,
 *   observation: string,
 *   answer: "" | "same" | "changed" | "not-visible",
 *   reason: string,
 *   photograph: string | null,
 *   now: string | null,
 * }} PointCheckRow
 *
 * Strokes in thousandths of the width of the field that was signed; sha256 of the statement.
 * @typedef {Row & {
 *   loan_check: string,
 *   role: "courier" | "receiver" | "conservator" | "registrar",
 *   name: string,
 *   of: string,
 *   strokes: [number, number][][],
 *   signed_at: string,
 *   sha256: string,
 * }} SignatureRow
 *
 * One object of a collection survey's walk.
 * order    place in the walk, from 1
 * missing  why it could not be examined, in words; empty otherwise
 * @typedef {Row & {
 *   visit: string,
 *   object: string,
 *   order: number,
 *   missing: string,
 * }} StopRow
 */

/**
 * The row type of each kind of record.
 * @typedef {{
 *   location: LocationRow,
 *   object: ObjectRow,
 *   move: MoveRow,
 *   visit: VisitRow,
 *   examination: ExaminationRow,
 *   photograph: PhotographRow,
 *   observation: ObservationRow,
 *   measurement: MeasurementRow,
 *   recommendation: RecommendationRow,
 *   watermark: WatermarkRow,
 *   amendment: AmendmentRow,
 *   loan: LoanRow,
 *   loaned_object: LoanedObjectRow,
 *   loan_check: LoanCheckRow,
 *   point_check: PointCheckRow,
 *   signature: SignatureRow,
 *   stop: StopRow,
 * }} Rows
 *
 * @typedef {keyof Rows} Entity
 *
 * @typedef {{[field: string]: unknown}} Fields
 */

/**
 * A change on its way to the server.
 *
 * order    place in the line; changes are sent in this order
 * id       sent with it, so that the server knows a change it has already had
 * base     revision of the row the person was looking at
 * at       hybrid logical clock, see clock.js
 * person   who made it: only sent while that person is signed in
 * creates  true if the row began with this change
 * settles  the open question that it answers, if any
 * tried    true once it may have reached the server: from then on it must not be altered
 * again    true once the server has refused it and it waits anew
 * reasons  why the server refused it, one sentence a field
 * @typedef {{
 *   order?: number,
 *   id: string,
 *   entity: Entity,
 *   entity_id: string,
 *   fields: Fields,
 *   base: number,
 *   at: string,
 *   person: string,
 *   person_name: string,
 *   creates: boolean,
 *   settles?: string,
 *   tried: boolean,
 *   again?: boolean,
 *   state: "waiting" | "sending" | "refused",
 *   reasons: {[field: string]: string},
 * }} Change
 *
 * One side of an open question.
 * @typedef {{value: unknown, at: string, person: string}} Answer
 *
 * Two people gave one field different values. Both are kept until a person settles it.
 * @typedef {{
 *   id: string,
 *   entity: Entity,
 *   entity_id: string,
 *   field: string,
 *   shown: Answer,
 *   kept: Answer,
 *   settled: boolean,
 *   _round?: string,
 * }} Question
 *
 * A photograph's file exactly as it was shot. `blob` is null once the person freed the space.
 * @typedef {{
 *   sha256: string,
 *   blob: Blob | null,
 *   size_bytes: number,
 *   content_type: string,
 *   file_name: string,
 * }} Original
 *
 * How far a photograph's file has come on its way to the server.
 *
 * sent        1 when the server has said that it holds these bytes, verified
 * bytes_sent  what the server has confirmed so far of an upload under way
 * trouble     why the server did not take the file, in a sentence
 * url         where the upload under way goes on
 * @typedef {{
 *   sha256: string,
 *   size_bytes: number,
 *   sent: 0 | 1,
 *   bytes_sent: number,
 *   trouble: string,
 *   url: string | null,
 * }} Sending
 *
 * @typedef {{sha256: string, blob: Blob}} Thumbnail
 *
 * @typedef {{key: string, value: any}} Setting
 */

/**
 * @typedef {{id: string, username: string, name: string, role: "conservator" | "courier" | "head"}} Person
 *
 * `loan` is the one loan that a courier's pass opened; without it somebody with an account works.
 * @typedef {{token: string, person: Person, device_id: string, expires_at: string, loan?: string}} Session
 *
 * How a courier's pass ended. over: its time is, since `at`; withdrawn: the server does not take it
 * any more. `said` is the server's sentence, "" where the device's own clock told. `had` is what it opened, for whoever reads it when the loan is gone.
 * @typedef {{why: "over" | "withdrawn", said: string, at: string, had: string}} PassEnd
 *
 * Where the person was: the route without "#", the data-field of the focused field, the
 * position of the caret in it, and the page's scroll in CSS pixels.
 * @typedef {{route: string, field: string | null, caret: number | null, scroll: number}} Place
 */

/**
 * The vocabulary, as the server sends it.
 * @typedef {{code: string, name: string}} Named
 *
 * @typedef {Named & {
 *   purpose: string,
 *   setup: string[],
 *   shows: string[],
 *   traps: string[],
 *   caution: string | null,
 *   has_azimuth: boolean,
 *   order: number,
 *   source: string,
 * }} Light
 *
 * @typedef {Named & {
 *   group: string,
 *   definition: string,
 *   lights: string[],
 *   may_be_feature: boolean,
 *   hazards: string[],
 *   caution: string | null,
 *   anchors: {slight?: string, moderate?: string, severe?: string},
 *   source: string,
 *   is_departmental: boolean,
 *   retired: boolean,
 * }} Term
 *
 * @typedef {Named & {text: string[], defer: string, source: string}} Caution
 * @typedef {Named & {sentence: string, action: string, caution: string | null}} Hazard
 * @typedef {Named & {definition: string}} Defined
 *
 * @typedef {{
 *   version: string,
 *   lights: Light[],
 *   groups: Defined[],
 *   terms: Term[],
 *   cautions: Caution[],
 *   hazards: Hazard[],
 *   grades: Defined[],
 *   kinds_of_work: Defined[],
 *   materials: {supports: Named[], media: Named[], mounts: Named[]},
 * }} Vocabulary
 */

export {};
