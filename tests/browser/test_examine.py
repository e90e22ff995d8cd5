"""The examine form: what it takes, what it refuses in words, and what it never loses."""

import json
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser import museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for

# From here on every write meets a full disk, as browsers report one.
FILL_THE_DISK = """
() => {
  window.writes = [IDBObjectStore.prototype.put, IDBObjectStore.prototype.add];
  IDBObjectStore.prototype.put = IDBObjectStore.prototype.add = () => {
    throw new DOMException("no room", "QuotaExceededError");
  };
}
"""
FREE_THE_DISK = """
() => { [IDBObjectStore.prototype.put, IDBObjectStore.prototype.add] = window.writes; }
"""
READ_TABLE = """
async ([table, examination]) => {
  const { db } = await import("/field/store/database.js");
  return JSON.stringify(await db.table(table).where({ examination }).toArray());
}
"""
READ_EXAMINATION = """
async (id) => {
  const { db } = await import("/field/store/database.js");
  return JSON.stringify(await db.examinations.get(id));
}
"""

IS_KEPT_AS_TYPED = """
async ([id, drafts]) => {
  const { db, readSetting } = await import("/field/store/database.js");
  const { sheet_height_mm, sheet_width_mm } = await db.examinations.get(id);
  const kept = (await readSetting(`drafts:${id}`)) ?? {};
  const isTyped = Object.entries(drafts).every(([field, text]) => kept[field] === text);
  return isTyped && sheet_height_mm === null && sheet_width_mm === null;
}
"""


@pytest.fixture
def form(server: Server, open_browser: Opener) -> Page:
    """The form of a sheet that nobody has examined, just opened."""
    page = tablet.open_app(open_browser(), server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    tablet.start_visit(page, "storage-round")
    (number,) = museum.unexamined_objects(server.data, 1)
    tablet.find_and_examine(page, number)
    return page


def examination(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(page.evaluate(READ_EXAMINATION, id_of(page)))
    return found


def rows(page: Page, table: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(page.evaluate(READ_TABLE, [table, id_of(page)]))
    return found


def id_of(page: Page) -> str:
    return page.url.rsplit("/", 1)[1]


def test_it_keeps_a_figure_that_cannot_be_right_and_will_not_sign_it(form: Page) -> None:
    height = tablet.field(form, "examination:sheet_height_mm")
    width = tablet.field(form, "examination:sheet_width_mm")
    height.press_sequentially("225000")
    width.fill("abc")
    expect(form.get_by_text("225,000 mm is 225 m.")).to_be_visible()
    expect(form.get_by_text("“abc” is not a number.")).to_be_visible()
    # 225 and 2250 were typed on the way: neither may stand in the record once all is written.
    typed = {"examination:sheet_height_mm": "225000", "examination:sheet_width_mm": "abc"}
    wait_for(lambda: form.evaluate(IS_KEPT_AS_TYPED, [id_of(form), typed]), form)

    form.reload()
    expect(height).to_have_value("225000")
    expect(width).to_have_value("abc")
    tablet.choose(form, "nothing-seen", "said")
    tablet.field(form, "sign").click()
    expect(form.get_by_text("First see to the points marked")).to_be_visible()

    height.fill("225")
    width.fill("310,5")
    name = tablet.field(form, "examination:signed_name").input_value()
    tablet.sign(form)
    signed = examination(form)
    assert (signed["sheet_height_mm"], signed["sheet_width_mm"]) == (225, 310.5)
    assert signed["signed_name"] == name != ""

    # What is signed is read, not examined again.
    form.goto(form.url.replace("/examination/", "/examine/"))
    form.wait_for_url("**/field/#/examination/*")


def test_it_says_when_damage_contradicts_the_statement_that_nothing_was_seen(form: Page) -> None:
    tablet.choose(form, "nothing-seen", "said")
    tablet.tick(form, "chain-lines", "chain lines")
    contradiction = form.get_by_text("Both cannot stand in a signed examination.")
    expect(contradiction).to_have_count(0)

    tablet.tick(form, "tear", "tear")
    expect(contradiction).to_be_visible()
    form.get_by_role("button", name="Take back “nothing seen”").click()
    expect(contradiction).to_have_count(0)
    assert examination(form)["nothing_seen"] is False

    # The same term again, then one of the two is taken away; it asks first.
    form.get_by_role("button", name="Add another: tear").click()
    expect(form.get_by_text("Seen here, 2 times")).to_be_visible()
    form.locator(".term-seen").get_by_role("button", name="Remove tear").click()
    assert len(rows(form, "observations")) == 3
    form.locator(".remove-question").get_by_role("button", name="Remove tear").click()
    expect(form.get_by_text("Seen here, 2 times")).to_have_count(0)
    assert sorted(row["term"] for row in rows(form, "observations")) == ["chain-lines", "tear"]


def test_it_asks_the_azimuth_before_a_raking_shot_and_marks_what_shows(form: Page) -> None:
    tablet.field(form, "light:raking").click()
    expect(form.get_by_text("Set the azimuth first")).to_be_visible()
    expect(tablet.field(form, "choose:raking")).to_have_count(0)
    dial = tablet.field(form, "azimuth")
    box = dial.bounding_box()
    assert box is not None
    dial.click(position={"x": box["width"] * 0.2, "y": box["height"] * 0.2})
    expect(dial).to_have_attribute("aria-valuenow", "315")
    tablet.field(form, "choose:raking").set_input_files(
        {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": tablet.shot(1)}
    )
    expect(form.locator(".shot img")).to_have_count(1)
    (photograph,) = rows(form, "photographs")
    assert (photograph["azimuth_deg"], photograph["side"]) == (315, "recto")

    tablet.tick(form, "soft-fold", "soft fold")
    form.locator(".observation-editor .shot").click()
    sheet = form.locator(".stage-sheet")
    expect(sheet.locator("img")).to_be_visible()
    box = sheet.bounding_box()
    assert box is not None
    form.mouse.click(box["x"] + box["width"] * 0.25, box["y"] + box["height"] * 0.75)
    expect(sheet.get_by_role("img", name="Mark 1")).to_be_visible()
    form.get_by_role("button", name="Done", exact=True).click()
    (observation,) = rows(form, "observations")
    assert observation["mark"]["photograph"] == photograph["id"]
    assert observation["mark"]["x"] == pytest.approx(0.25, abs=0.01)
    assert observation["mark"]["y"] == pytest.approx(0.75, abs=0.01)


def test_it_refuses_what_is_no_photograph_and_points_out_one_that_is_cut_short(form: Page) -> None:
    tablet.field(form, "light:normal").click()
    whole = tablet.shot(2)
    tablet.field(form, "choose:normal").set_input_files(
        [
            {"name": "list.jpg", "mimeType": "image/jpeg", "buffer": b"no picture at all" * 40},
            {"name": "cut.jpg", "mimeType": "image/jpeg", "buffer": whole[: len(whole) // 2]},
        ]
    )
    expect(form.get_by_text("list.jpg: This file is not a photograph")).to_be_visible()
    expect(form.get_by_role("button", name="Normal light, recto, not whole")).to_be_visible()
    assert [row["file_name"] for row in rows(form, "photographs")] == ["cut.jpg"]
    expect(form.get_by_text("One photograph is not whole.")).to_be_visible()


def test_the_live_view_keeps_a_photograph_and_says_when_there_is_no_camera(form: Page) -> None:
    tablet.field(form, "light:normal").click()
    tablet.field(form, "live:normal").click()
    form.get_by_role("button", name="Take the photograph").click()
    expect(form.get_by_text("1 photograph kept under this light")).to_be_visible()
    form.get_by_role("dialog").get_by_role("button", name="Close").click()
    assert [row["light"] for row in rows(form, "photographs")] == ["normal"]

    form.evaluate(
        """() => {
          navigator.mediaDevices.getUserMedia = async () => {
            throw new DOMException("", "NotAllowedError");
          };
        }"""
    )
    tablet.field(form, "live:normal").click()
    expect(form.get_by_text("This app may not use the camera.")).to_be_visible()


def test_a_full_disk_loses_neither_words_nor_photograph(form: Page) -> None:
    notes = tablet.field(form, "examination:notes")
    notes.fill("Before.")
    tablet.field(form, "light:normal").click()
    form.evaluate(FILL_THE_DISK)

    notes.fill("Before. After.")
    expect(form.get_by_role("button", name="Save again")).to_be_visible()
    tablet.field(form, "choose:normal").set_input_files(
        {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": tablet.shot(3)}
    )
    expect(form.get_by_text("This device has no room for the photograph")).to_be_visible()

    # A walk to the Sync screen, as the message advises, and back.
    address = form.url
    form.goto(address.split("#")[0] + "#/sync")
    expect(form.get_by_role("heading", name="Sync", exact=True)).to_be_visible()
    form.evaluate(FREE_THE_DISK)
    form.goto(address)
    expect(notes).to_have_value("Before. After.")
    form.get_by_role("button", name="Keep the photograph now").click()
    expect(form.locator(".shot img")).to_have_count(1)
    expect(form.get_by_role("button", name="Save again")).to_have_count(0)
    assert examination(form)["notes"] == "Before. After."
