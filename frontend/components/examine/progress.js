/** How far an examination has come, what is next, and what is still open when it is signed. */

import { listed, lowerFirst, sheetSize } from "../wording.js";
import { LAMP_SINCE } from "./lamp.js";

/** @import * as Row from "../../store/types.js" */

/**
 * All that is recorded so far, with the words needed to tell it.
 * @typedef {object} Recorded
 * @property {Row.ExaminationRow} examination
 * @property {Row.PhotographRow[]} photographs
 * @property {Row.ObservationRow[]} observations
 * @property {Row.RecommendationRow[]} recommendations
 * @property {Record<string, string>} drafts
 * @property {boolean} [isOfCheck]  it belongs to a check on a loan, which says where, and is signed
 * @property {Row.Vocabulary} vocabulary
 */

/**
 * @typedef {object} Step
 * @property {string} id  of the section
 * @property {string} name
 * @property {string} state  in words
 * @property {boolean} done
 * @property {string} [next]  what to do, when this is the next thing; none for what may be left
 */

/** @param {Recorded} recorded @returns {Step[]} in the order of the form */
export function steps(recorded) {
  const { examination, photographs, observations, recommendations, vocabulary } = recorded;
  const lights = new Set(photographs.map((photograph) => photograph.light)).size;
  const size = sheetSize(examination.sheet_height_mm, examination.sheet_width_mm);
  const grade = vocabulary.grades.find((each) => each.code === examination.grade);
  const open = openPoints(recorded).length;
  const all = [
    {
      id: "place",
      name: "Place",
      state: examination.location_confirmed ? "Confirmed" : "Not confirmed yet",
      done: examination.location_confirmed,
      next: "Confirm the place",
    },
    {
      id: "photographs",
      name: "Photographs",
      state: `${lights} of ${vocabulary.lights.length} lights`,
      done: lights > 0,
      next: "Photograph the sheet",
    },
    {
      id: "condition",
      name: "Condition",
      state: contradicts(recorded)
        ? "Contradicts itself"
        : observations.length
          ? `${observations.length} seen`
          : examination.nothing_seen
            ? "Nothing seen"
            : "Nothing said yet",
      done: examination.nothing_seen ? !contradicts(recorded) : observations.length > 0,
      next: "Go through the checklist",
    },
    {
      id: "sheet",
      name: "Sheet and mount",
      state: size || "No size yet",
      done: size !== "",
      next: "Measure the sheet",
    },
    {
      id: "work",
      name: "Grade and work",
      state: grade
        ? [grade.name, recommendations.length && `${recommendations.length} recommended`]
            .filter(Boolean)
            .join(", ")
        : "Not graded yet",
      done: grade !== undefined,
      next: "Grade the state",
    },
    {
      id: "notes",
      name: "Notes",
      state: examination.notes.trim() ? "Written" : "None",
      done: examination.notes.trim() !== "",
    },
    {
      id: "sign",
      name: "Sign",
      state: open ? `${open} open` : "All said",
      done: false,
      next: "Read through and sign",
    },
  ];
  return recorded.isOfCheck ? all.filter(({ id }) => !SAID_BY_THE_CHECK.includes(id)) : all;
}

const SAID_BY_THE_CHECK = ["place", "sign"];

/**
 * Where a draft's field stands, by its record or its whole name, when it is not the sheet's.
 * @type {Record<string, string>}
 */
const SECTIONS = { recommendation: "work", "examination:lamp_s": "photographs" };

/** The first step that is neither done nor free to be left. @param {Step[]} all @returns {Step} */
export function nextStep(all) {
  return all.find((step) => step.next && !step.done) ?? all[all.length - 1];
}

/** Whether damage, or what may be damage, stands beside the statement that nothing was seen. */
export function contradicts(
  /** @type {Pick<Recorded, "examination" | "observations">} */ { examination, observations },
) {
  return examination.nothing_seen && observations.some(({ nature }) => nature !== "feature");
}

/** Whether the object was found elsewhere than the catalogue says. */
export function hasMoved(
  /** @type {Row.ExaminationRow} */ examination,
  /** @type {Row.ObjectRow | null | undefined} */ object,
) {
  return Boolean(
    object &&
      examination.location_confirmed &&
      (examination.location !== object.location || examination.place !== object.off_site_place),
  );
}

/**
 * What is still open before signing.
 *
 * @param {Recorded} recorded
 * @returns {{section: string, blocks: boolean, sentence: string}[]}  those that block come first
 */
export function openPoints(recorded) {
  const { examination, photographs, observations, drafts, vocabulary } = recorded;
  /** @type {{section: string, blocks: boolean, sentence: string}[]} */
  const points = [];
  const say = (/** @type {string} */ section, /** @type {string} */ sentence, blocks = false) =>
    points.push({ section, blocks, sentence });

  if (contradicts(recorded)) {
    say("condition", "Damage is recorded, and “nothing seen” is said as well. Take one of the two back.", true);
  } else if (observations.length === 0 && !examination.nothing_seen) {
    say("condition", "Nothing is recorded yet. Tick what you saw, or say outright that nothing was seen.", true);
  }
  for (const [field, text] of Object.entries(drafts)) {
    const half = field.startsWith("measurement:");
    if (field === LAMP_SINCE) {
      say("photographs", "The timer of the ultraviolet lamp runs. Switch the lamp off, and stop it.", true);
      continue;
    }
    const section = half ? "condition" : (SECTIONS[field.split(":")[0]] ?? SECTIONS[field] ?? "sheet");
    say(
      section,
      half
        ? `A measurement was begun and not added: “${text}”. Add it, or empty its fields.`
        : `“${text}” could not be taken. Mend the figure, or empty the field.`,
      true,
    );
  }

  if (!examination.location_confirmed) say("place", "The place is not confirmed.");
  const shot = new Set(photographs.map((photograph) => photograph.light));
  const missing = vocabulary.lights.filter((light) => !shot.has(light.code));
  if (missing.length) {
    say("photographs", `Not photographed: ${listed(missing.map((light) => lowerFirst(light.name)))}.`);
  }
  const troubled = photographs.filter((photograph) => photograph.trouble).length;
  if (troubled) {
    say("photographs", `${troubled === 1 ? "One photograph is" : `${troubled} photographs are`} not whole. Take it again while the sheet is here.`);
  }
  const faulty = photographs.filter(({ shot_check }) => shot_check && !(shot_check.sharp && shot_check.exposed)).length;
  if (faulty) {
    say("photographs", `${faulty === 1 ? "One photograph is" : `${faulty} photographs are`} not sharp or not well exposed. Take it again while the sheet is here, or keep it as it is.`);
  }
  const undecided = observations.filter(({ nature }) => nature === "unsure").length;
  if (undecided) {
    say("condition", `${undecided === 1 ? "One observation is" : `${undecided} observations are`} not yet decided: damage, or a feature.`);
  }
  if (!examination.sheet_width_mm || !examination.sheet_height_mm) {
    say("sheet", "The sheet has no size.");
  }
  if (!examination.verso_seen) say("sheet", "Whether the verso was seen is not said.");
  if (!examination.grade) say("work", "The state is not graded.");
  return points;
}
