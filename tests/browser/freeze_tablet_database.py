"""Freezes a tablet's database, full of unsent work, as some version of the code makes it.

    .venv/bin/python -m tests.browser.freeze_tablet_database CODE FILE

CODE  a folder with the code of that version, for example unpacked by ``git archive``
FILE  where to write it: fixtures/tablet-databases/version-N.json

A real server and a real Chromium run the app of CODE. Everything is written by the app's own
functions; only the pictures are small. Run it once for each new schema, before it is released,
and never again: what was frozen stays as it is. Nothing is taken out or altered but the token of
the session, which no longer opens anything and is replaced by words.
"""

import re
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Route, sync_playwright

from tests.browser import frozen, small_museum, tablet
from tests.browser.conftest import launch
from tests.browser.server import Server

# A day's work in the app's own functions; it follows the order in which a person works.
REFUSED = """
async (examination) => {
  const { create } = await import("/field/store/write.js");
  return create("observation", { examination, term: "tear", severity: "dreadful" });
}
"""
UNDER_WAY = """
async (examination) => {
  const { save } = await import("/field/store/write.js");
  const notes = "Cockled along the top edge. Ärmel, 紙, “quoted”.";
  await save("examination", examination, { notes });
}
"""
WAITING = """
async ({ examination, object, at }) => {
  const { addPhotograph, create, save } = await import("/field/store/write.js");
  const notes = "Cockled along the top and left edges.";
  await save("examination", examination, { notes, grade: "fair" });
  const measured = { value: 14.5, uncertainty: 0.5, unit: "mm" };
  await create("measurement", { examination, what: "Tear", ...measured });
  const visit = await create("visit", {
    purpose: "storage-round", name: "Round, unsent", started_at: at,
  });
  const second = await create("examination", {
    visit, object, started_at: at, notes: "First line.\\nSecond line, with a tab\\there.",
    sheet_width_mm: 310.5, sheet_height_mm: 225, verso_seen: "part",
  });
  const foxing = await create("observation", {
    examination: second, term: "foxing", nature: "damage", extent: "several", severity: "slight",
    lights: ["normal"], note: "Lower left.",
    region: { kind: "polygon", points: [[10, 180], [50, 182.5], [48, 215], [12, 212]] },
  });
  await create("measurement", {
    examination: second, observation: foxing, what: "Spot", ...measured,
  });
  const shots = [["normal", null, "A", 0], ["raking", 290, "B", 90]];
  for (const [light, azimuth_deg, text, seed] of shots) {
    const canvas = new OffscreenCanvas(48, 32);
    const context = canvas.getContext("2d");
    context.fillStyle = `hsl(${seed} 40% 70%)`;
    context.fillRect(0, 0, 48, 32);
    context.fillText(text, 8, 20);
    const file = new File(
      [await canvas.convertToBlob({ type: "image/jpeg", quality: 0.5 })], `${text}.jpg`,
    );
    const shot = { light, azimuth_deg, side: "recto", file, taken_at: at };
    await addPhotograph({ examination: second, ...shot });
  }
  return second;
}
"""
# Since version 3 a photograph is placed on the sheet, lengths are tapped on it, its shot is
# checked, the lamp is timed, and watermarks are recorded.
PLACED = """
async (examination) => {
  const { create, noteShotCheck, save } = await import("/field/store/write.js");
  const { db } = await import("/field/store/database.js");
  const [photograph] = await db.photographs.where({ examination }).sortBy("id");
  await save("photograph", photograph.id, {
    homography: [10, 0, -20, 0, 10, -15, 0, 0, 1],
    placing: {
      kind: "corners", points: [[2, 1.5], [33.05, 1.5], [33.05, 24], [2, 24]],
      size_mm: [310.5, 225], mm_per_px: 10, uncertainty_mm: 5.5,
    },
  });
  await noteShotCheck(photograph.id, {
    sharp: false, steady: true, exposed: true, sentences: ["Not sharp: take it again."],
  });
  await create("measurement", {
    examination, photograph: photograph.id, what: "Fold", value: 50, uncertainty: 8, unit: "mm",
    points: [[20, 30], [60, 60]],
  });
  await save("examination", examination, { lamp_s: 95 });
  await create("watermark", {
    examination, motif: "Crown over a shield", side: "verso", seen_from: "mould", width_mm: 24,
    height_mm: 51.5, to_left_chain_mm: 0, to_right_chain_mm: 1, chain_interval_mm: 25,
    chains_within: 0, repertory: "Marks of the Reed Mills", repertory_number: "112",
    repertory_from_year: 1710, repertory_to_year: 1715, match: "variant",
    region: { kind: "polygon", points: [[100, 80], [124, 80], [124, 131.5], [100, 131.5]] },
  });
}
"""
# Since version 4 objects on loan are checked, signed on the glass, and looked at on carried
# pictures; and a walk says what could not be examined.
CHECKED = """
async ({ loan, object, visit, seen, stop, at }) => {
  const { create, createTogether, save } = await import("/field/store/write.js");
  const { newId } = await import("/field/store/ids.js");
  const { db } = await import("/field/store/database.js");
  const { sign } = await import("/field/store/loans/signing.js");
  const { statementOf } = await import("/field/store/loans/statement.js");
  const { answerPoint } = await import("/field/store/loans/answers.js");
  const known = await db.observations.where({ examination: seen }).first();
  const checks = [];
  for (const stage of ["outgoing", "arrival"]) {
    const [examination, check] = [newId(), newId()];
    await createTogether(async () => [
      { entity: "examination", id: examination, fields: { visit, object, started_at: at } },
      {
        entity: "loan_check", id: check,
        fields: { loan, examination, stage, venue: "Salt Quay", crate: "Crate 1", seals: "A 2231" },
      },
    ]);
    await answerPoint({ id: check, examination }, known, stage === "outgoing" ? "same" : "changed");
    checks.push(check);
  }
  const [signed, open] = checks;
  await save("loan_check", open, { temperature_c: 21.5, humidity_percent: 48, glazing: "whole" });
  const hand = { name: "Wenna Tregear", of: "Small museum", strokes: [[[12, 40], [300, 80]]] };
  const statement = await statementOf(await db.loan_checks.get(signed));
  await sign(signed, statement, [{ role: "courier", ...hand }]);
  await save("stop", stop, { missing: "Not on its shelf." });
  // As they would have come from the server, had it had the picture.
  const [{ sha256, blob }] = await db.thumbnails.toArray();
  await db.previews.put({ sha256, blob });
}
"""
# Since version 2 a question can be answered without a network.
ANSWER = """
async (question) => {
  const { settle } = await import("/field/store/questions.js");
  await settle(question, { choice: "kept" });
}
"""
SYNC = "import('/field/sync/engine.js').then(({ syncNow }) => syncNow())"
STATES = """
async () => {
  const { db } = await import("/field/store/database.js");
  return (await db.outbox.toArray()).map((change) => change.state);
}
"""


def freeze(context: BrowserContext, server: Server) -> dict[str, Any]:
    page = tablet.open_app(context, server)
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    page.locator(".sync-line", has_text=re.compile("Needs you|open question")).wait_for()
    at = "2026-01-14T08:15:00.000Z"
    examination, unexamined = str(small_museum.UNFINISHED), str(small_museum.key("object", 0))
    page.evaluate(REFUSED, examination)
    page.evaluate(SYNC)
    wait_for_states(page, ["refused"])
    server_has_it_but_no_answer_comes(context)
    page.evaluate(UNDER_WAY, examination)
    page.evaluate(f"void {SYNC}")
    wait_for_states(page, ["refused", "sending"])
    waiting = {"examination": examination, "object": unexamined, "at": at}
    second = page.evaluate(WAITING, waiting)
    page.evaluate(PLACED, second)
    check = {
        "loan": str(small_museum.LOAN),
        "object": unexamined,
        "visit": str(small_museum.key("visit", 1)),
        "seen": second,
        "stop": str(small_museum.STOP),
        "at": at,
    }
    page.evaluate(CHECKED, check)
    page.evaluate(ANSWER, str(small_museum.QUESTION))
    # What the app writes of itself, such as counts, comes a moment later.
    page.wait_for_timeout(1500)
    database = frozen.take_out(page)
    for row in frozen.rows(database, "settings"):
        if row["key"] == "session":
            row["value"]["token"] = "the-token-of-the-frozen-session"
    return database


def wait_for_states(page: Page, states: list[str]) -> None:
    for _ in range(100):
        if page.evaluate(STATES) == states:
            return
        page.wait_for_timeout(100)
    raise RuntimeError(f"The outbox holds {page.evaluate(STATES)}, not {states}.")


def server_has_it_but_no_answer_comes(context: BrowserContext) -> None:
    def hold(route: Route) -> None:
        route.fetch()

    context.route("**/api/sync/push", hold)


def main(code: Path, file: Path) -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        data = Path(folder) / "data"
        data.mkdir()
        server = Server(data)
        server.root = code
        frozen.give_museum(server, {}, lends=True)
        server.start()
        context = launch(playwright, Path(folder) / "profile")
        try:
            frozen.write(freeze(context, server), file)
        finally:
            context.close()
            server.stop()


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve())
