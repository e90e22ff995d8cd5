/**
 * The examination in hand: its records as this tablet holds them, with what was typed a moment
 * ago laid over them, and the few ways to change them.
 *
 * Every change is shown at once and written at once. What cannot be written (a full disk) stays
 * shown, `problem` says what to do, and `retry` writes it again; it outlives a walk to other
 * screens, for example to free space there.
 */

import { db, readSetting, tableOf, writeSetting } from "../../store/database.js";
import { questionsOf } from "../../store/questions.js";
import { vocabulary } from "../../store/vocabulary.js";
import { addPhotograph, create, remove, save, StorageFull } from "../../store/write.js";
import { liveQuery } from "../../vendor/dexie.js";
import { computed, signal } from "../../vendor/ui.js";

/** @import * as Row from "../../store/types.js" */
/** @import { Entity, Fields, Side, Term } from "../../store/types.js" */

/** @typedef {ReturnType<typeof openExamination>} Held */
/**
 * again: the photograph that it was taken to replace, if the person then says so
 * onKept: told the photograph's id once it is kept
 * @typedef {{
 *   light: string,
 *   azimuth_deg: number | null,
 *   side: Side,
 *   file: File,
 *   again?: string,
 *   onKept?: (id: string) => void,
 * }} Shot
 */

/**
 * What is done on the photograph that is open: its corners set (first those of `from`, to be
 * looked at), a scale used, something measured, or the observation in hand outlined.
 * @typedef {{do: "corners" | "scale" | "measure" | "outline", from?: string}} Task
 */

/** How many terms the list of recently used ones holds. */
const RECENT_TERMS = 8;
/** A write that takes longer than this is worth a word on the screen. */
const SLOW_WRITE_MS = 300;

/** Examinations that were left with something not yet on the disk. @type {Map<string, Held>} */
const leftUnwritten = new Map();

/** @param {string} id  of the examination @returns {Held} */
export function takeInHand(id) {
  const left = leftUnwritten.get(id);
  leftUnwritten.delete(id);
  left?.retry();
  return left ?? openExamination(id);
}

/** @param {string} id  of the examination */
function openExamination(id) {
  /** @type {(() => void)[]} */
  const closers = [];
  /** Fields shown but not yet read back from the database, by record. */
  const overlay = signal(/** @type {Map<string, Fields>} */ (new Map()));
  /** Fields not yet written, by record. @type {Map<string, {entity: Entity, fields: Fields}>} */
  const queue = new Map();
  /** Records whose overlay is on the disk and goes when the database is next read. @type {Map<string, Entity>} */
  const written = new Map();

  const shotsWithoutRoom = signal(/** @type {Shot[]} */ ([]));
  const problem = signal(/** @type {string | null} */ (null));
  const slow = signal(false);

  /**
   * @template T
   * @param {() => Promise<T>} query
   * @param {T} initial
   * @param {Entity} [entity]  the records it reads, when they can be changed here
   */
  const watch = (query, initial, entity) => {
    const answer = signal(initial);
    const watching = liveQuery(query).subscribe({
      next: (/** @type {T} */ rows) => {
        if (entity) dropWritten(entity);
        answer.value = rows;
      },
      error: (/** @type {unknown} */ error) => (problem.value = inWords(error)),
    });
    closers.push(() => watching.unsubscribe());
    return answer;
  };

  /** @template {{id: string}} R @param {R} row @returns {R} */
  const withTyped = (row) => {
    const typed = overlay.value.get(row.id);
    return typed ? { ...row, ...typed } : row;
  };

  /** @template {"photograph" | "observation" | "measurement" | "recommendation" | "watermark"} E @param {E} entity */
  const parts = (entity) => {
    const rows = watch(
      () => tableOf(entity).where("examination").equals(id).sortBy("id"),
      /** @type {Row.Rows[E][]} */ ([]),
      entity,
    );
    return computed(() => rows.value.map(withTyped));
  };

  function dropWritten(/** @type {Entity} */ entity) {
    const gone = [...written].filter(([, kind]) => kind === entity).map(([record]) => record);
    if (gone.length === 0) return;
    const left = new Map(overlay.value);
    for (const record of gone) {
      written.delete(record);
      left.delete(record);
    }
    overlay.value = left;
  }

  let writing = false;
  async function write() {
    if (writing) return;
    writing = true;
    const timer = setTimeout(() => (slow.value = true), SLOW_WRITE_MS);
    try {
      for (const [record, { entity, fields }] of queue) {
        queue.delete(record);
        try {
          await save(entity, record, fields);
        } catch (error) {
          // What was typed meanwhile is newer than what failed.
          const newer = queue.get(record)?.fields;
          queue.set(record, { entity, fields: { ...fields, ...newer } });
          throw error;
        }
        if (!queue.has(record)) written.set(record, entity);
      }
      problem.value = null;
    } catch (error) {
      problem.value = inWords(error);
    } finally {
      clearTimeout(timer);
      slow.value = false;
      writing = false;
    }
  }

  /** @template T @param {() => Promise<T>} step @returns {Promise<T | null>} null if it failed */
  async function attempt(step) {
    try {
      return await step();
    } catch (error) {
      problem.value = inWords(error);
      return null;
    }
  }

  const row = watch(
    async () => (await db.examinations.get(id)) ?? null,
    /** @type {Row.ExaminationRow | null | undefined} */ (undefined),
    "examination",
  );
  const examination = computed(() => (row.value ? withTyped(row.value) : row.value));
  const loanCheck = watch(
    async () => (await db.loan_checks.where({ examination: id }).first()) ?? null,
    /** @type {Row.LoanCheckRow | null | undefined} */ (undefined),
  );
  const object = watch(
    async () => {
      const of = (await db.examinations.get(id))?.object;
      return of ? ((await db.objects.get(of)) ?? null) : null;
    },
    /** @type {Row.ObjectRow | null | undefined} */ (undefined),
  );

  const drafts = signal(/** @type {Record<string, string>} */ ({}));
  const recent = signal(/** @type {string[]} */ ([]));
  /** The same, kept up. @type {string[]} */
  let lately = [];
  const ready = Promise.all([readSetting(draftsKey(id)), readSetting("recent_terms")]).then(
    ([kept, terms]) => {
      drafts.value = kept ?? {};
      lately = terms ?? [];
      recent.value = lately;
    },
  );

  const photographs = parts("photograph");
  const observations = parts("observation");
  const recommendations = parts("recommendation");

  return {
    id,
    /** undefined while it is read, null when this tablet does not carry it. */
    examination,
    /** The check on a loan that it belongs to; undefined while it is read, null where it is none. */
    loanCheck,
    object,
    photographs,
    observations,
    measurements: parts("measurement"),
    watermarks: parts("watermark"),
    /** Open questions on the examination and its parts. */
    questions: watch(() => questionsOf(id), /** @type {Row.Question[]} */ ([])),
    recommendations,
    /** Text that is not yet a record: numbers that cannot be read, a measurement half typed. */
    drafts,
    /** All of it together, for progress.js; read only once the examination is there. */
    recorded: computed(() => ({
      examination: /** @type {Row.ExaminationRow} */ (examination.value),
      photographs: photographs.value,
      observations: observations.value,
      recommendations: recommendations.value,
      drafts: drafts.value,
      isOfCheck: Boolean(loanCheck.value),
      vocabulary: vocabulary.value,
    })),
    /** Codes of the terms ticked last when the form was opened: the list must not shift under the
     * finger that ticks. */
    recent,
    /** Drafts and recent terms have been read. */
    ready,
    problem,
    slow,

    /** What is open on the screen; nothing here is written. */
    view: {
      light: signal(/** @type {string | null} */ (null)),
      side: signal(/** @type {Side} */ ("recto")),
      azimuth: signal(/** @type {number | null} */ (null)),
      group: signal(/** @type {string | null} */ (null)),
      term: signal(/** @type {string | null} */ (null)),
      observation: signal(/** @type {string | null} */ (null)),
      photograph: signal(
        /** @type {{id: string, marking: string | null, task?: Task} | null} */ (null),
      ),
      /** The photographs are looked at together. */
      comparing: signal(false),
      camera: signal(/** @type {string | null} */ (null)),
      /** Photographs with which a check found fault, until the person has said what becomes of
       * them; and the photograph that was taken again in the place of each. */
      faulty: signal(/** @type {Map<string, string | null>} */ (new Map())),
    },

    /** Shows the fields at once and writes them. */
    change(/** @type {Entity} */ entity, /** @type {string} */ record, /** @type {Fields} */ fields) {
      overlay.value = new Map(overlay.value).set(record, {
        ...overlay.value.get(record),
        ...fields,
      });
      written.delete(record);
      queue.set(record, { entity, fields: { ...queue.get(record)?.fields, ...fields } });
      return write();
    },

    changeExamination(/** @type {Partial<Row.ExaminationRow>} */ fields) {
      return this.change("examination", id, fields);
    },

    /** A new part of the examination. Resolves to its id when it is on the disk, else null. */
    add(/** @type {Entity} */ entity, /** @type {Fields} */ fields) {
      return attempt(() => create(entity, { examination: id, ...fields }));
    },

    take(/** @type {Entity} */ entity, /** @type {string} */ record) {
      queue.delete(record);
      return attempt(() => remove(entity, record));
    },

    /** One term seen on the sheet. Resolves to the observation's id when it is on the disk. */
    async tick(/** @type {Term} */ term) {
      const observation = await this.add("observation", {
        term: term.code,
        nature: term.group === "making" ? "feature" : term.may_be_feature ? "unsure" : "damage",
        side: this.view.side.value,
      });
      if (!observation) return null;
      lately = [term.code, ...lately.filter((code) => code !== term.code)].slice(0, RECENT_TERMS);
      attempt(() => writeSetting("recent_terms", lately));
      return observation;
    },

    /** Says that an observation is on the other side; its outline stays at the same place of the sheet. */
    async turnOver(/** @type {Row.ObservationRow} */ { id: observation, region, side: before }, /** @type {Side} */ side) {
      const { sheetOf } = await import("./on-sheet/data.js");
      const sheet = examination.value && sheetOf(examination.value, photographs.value);
      const points = region?.points.map(([x, y]) => [sheet ? sheet.width_mm - x : x, y]);
      const isTurned = region && sheet && side !== before;
      return this.change("observation", observation, { side, ...(isTurned ? { region: { ...region, points } } : {}) });
    },

    /** An observation with its measurements. */
    async takeObservation(/** @type {Row.ObservationRow} */ observation) {
      for (const measurement of this.measurements.value) {
        if (measurement.observation === observation.id) {
          await this.take("measurement", measurement.id);
        }
      }
      for (const part of ["what", "value", "uncertainty"]) {
        this.draft(`measurement:${observation.id}:${part}`, null);
      }
      await this.take("observation", observation.id);
    },

    /** A photograph; a mark on it goes too, since it would point nowhere. */
    async takePhotograph(/** @type {Row.PhotographRow} */ photograph) {
      for (const observation of this.observations.value) {
        if (observation.mark?.photograph === photograph.id) {
          await this.change("observation", observation.id, { mark: null });
        }
      }
      await this.take("photograph", photograph.id);
    },

    /**
     * What a shot under a light is, as the screen stands, or as the one was that it repeats.
     * @returns {Shot}
     */
    shot(
      /** @type {string} */ light,
      /** @type {File} */ file,
      /** @type {Row.PhotographRow | undefined} */ again,
    ) {
      if (again) return { light, azimuth_deg: again.azimuth_deg, side: again.side, file, again: again.id };
      const azimuth_deg = light === "raking" ? this.view.azimuth.value : null;
      return { light, azimuth_deg, side: this.view.side.value, file };
    },

    /**
     * Keeps a shot. One for which there is no room stays in memory, in `shotsWithoutRoom`.
     * @param {Shot} shot
     * @returns {Promise<string[]>} warnings, in sentences
     * @throws {Error} its message says why the file was not taken
     */
    async photograph(shot) {
      const now = Date.now();
      const taken_at = new Date(Math.min(shot.file.lastModified || now, now)).toISOString();
      try {
        const { id: made, warnings } = await addPhotograph({ examination: id, taken_at, ...shot });
        this.giveUp(shot);
        if (shot.again) this.findFault(shot.again, made);
        shot.onKept?.(made);
        this.check(made, shot);
        return warnings;
      } catch (error) {
        if (!(error instanceof StorageFull)) throw error;
        this.giveUp(shot);
        shotsWithoutRoom.value = [...shotsWithoutRoom.value, shot];
        return [];
      }
    },

    /** Has a saved shot looked at. Whatever fails in it is no loss: it only advises. */
    async check(/** @type {string} */ photograph, /** @type {Shot} */ { light, file }) {
      try {
        const { checkShot } = await import("../../store/shot-check.js");
        const found = await checkShot(photograph, light, file);
        if (found && !(found.sharp && found.exposed)) this.findFault(photograph, null);
      } catch (error) {
        console.error(error);
      }
    },

    findFault(/** @type {string} */ photograph, /** @type {string | null} */ again) {
      this.view.faulty.value = new Map(this.view.faulty.value).set(photograph, again);
    },

    /** The person has said what becomes of it. */
    settleFault(/** @type {string} */ photograph) {
      const left = new Map(this.view.faulty.value);
      left.delete(photograph);
      this.view.faulty.value = left;
    },

    /** Shots that are in memory only. */
    shotsWithoutRoom,

    giveUp(/** @type {Shot} */ shot) {
      shotsWithoutRoom.value = shotsWithoutRoom.value.filter((each) => each !== shot);
    },

    /** Keeps text that is no record yet; null once it is one, or was emptied. */
    draft(/** @type {string} */ field, /** @type {string | null} */ text) {
      if ((drafts.value[field] ?? null) === text) return;
      const { [field]: _, ...others } = drafts.value;
      drafts.value = text === null ? others : { ...others, [field]: text };
      attempt(() => writeSetting(draftsKey(id), drafts.value));
    },

    retry: write,

    /** Resolves when all that was changed is on the disk; false if it could not be written. */
    async settled() {
      while (writing) await new Promise((resolve) => setTimeout(resolve, 10));
      if (queue.size) await write();
      return queue.size === 0;
    },

    /** Drops what only mattered while the examination was open. */
    forgetDrafts() {
      return attempt(() => db.settings.delete(draftsKey(id)));
    },

    /** Called when the screen is left. */
    letGo() {
      if (queue.size || shotsWithoutRoom.value.length) leftUnwritten.set(id, this);
      else for (const close of closers) close();
    },
  };
}

function draftsKey(/** @type {string} */ id) {
  return `drafts:${id}`;
}

function inWords(/** @type {unknown} */ error) {
  return error instanceof Error ? error.message : String(error);
}
