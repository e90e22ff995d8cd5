"""The check of a shot, the timer of the ultraviolet lamp and the watermarks of the examine form."""

import io
import json
import re
import time
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Page, expect

from tests.browser import museum, reading, small_museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.small_tablet import wait_until_nothing_waits
from tests.browser.waiting import wait_for

ROW = """
async ([table, examination]) => {
  const { db } = await import("/field/store/database.js");
  const own = table === "examinations" ? "id" : "examination";
  return JSON.stringify(await db.table(table).where(own).equals(examination).toArray());
}
"""
UNFINISHED = str(small_museum.UNFINISHED)


def picture(blur_px: float, size: tuple[int, int] = (2400, 1800), level: int = 215) -> bytes:
    """A sheet with ruled lines on a grey bench, as a camera writes it; blur: standard deviation."""
    drawn = Image.new("L", size, 96)
    pen = ImageDraw.Draw(drawn)
    pen.rectangle((200, 150, size[0] - 200, size[1] - 150), fill=level)
    for row in range(300, size[1] - 250, 90):
        pen.line((320, row, size[0] - 340, row + 40), fill=level // 4, width=7)
        pen.ellipse((400 + row, row, 440 + row, row + 50), outline=level // 4, width=6)
    seen = np.asarray(drawn, dtype=np.float32)
    seen = cv2.GaussianBlur(seen, (0, 0), 0.7)
    if blur_px:
        seen = cv2.GaussianBlur(seen, (0, 0), blur_px)
    grain = np.random.default_rng(round(10 * blur_px) + level).normal(0, 2, seen.shape)
    file = io.BytesIO()
    whole = np.clip(seen + grain, 0, 255).astype(np.uint8)
    Image.fromarray(whole).convert("RGB").save(file, "JPEG", quality=90)
    return file.getvalue()


def file_of(content: bytes, name: str = "shot.jpg") -> dict[str, Any]:
    return {"name": name, "mimeType": "image/jpeg", "buffer": content}


def rows(page: Page, table: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(page.evaluate(ROW, [table, UNFINISHED]))
    return found


def slot(page: Page, light: str) -> Any:
    return page.locator("li.light-slot").filter(has=tablet.field(page, f"light:{light}"))


@pytest.fixture
def form(small_server: Server, open_browser: Opener) -> Page:
    """The form of an examination that was begun, on a tablet that can work offline."""
    page = open_browser().new_page()
    page.goto(f"{small_server.address}/field/#/sign-in")
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    expect(page.locator(".sync-line")).to_contain_text("Sent", timeout=90_000)
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    page.goto(f"{small_server.address}/field/#/examine/{UNFINISHED}")
    page.reload()
    expect(tablet.field(page, "side-up:recto")).to_be_attached()
    return page


def test_a_shot_is_checked_offline_and_the_person_says_what_becomes_of_it(
    form: Page, small_server: Server
) -> None:
    small_server.stop()
    form.context.set_offline(True)
    form.reload()
    here = slot(form, "normal")
    tablet.photograph_by(form, "normal", picture(4.5))
    # It is saved before anything is said of it, and the form goes on.
    (blurred,) = rows(form, "photographs")
    expect(here.get_by_text("Not sharp: tap the sheet")).to_be_visible()
    expect(here.locator(".shot .tag")).to_have_text("Not sharp")
    assert rows(form, "photographs")[0]["shot_check"]["sharp"] is False
    assert reading.faults(form) == []

    tablet.field(form, f"again:{blurred['id']}").set_input_files(file_of(picture(0)))
    expect(here.locator(".shot")).to_have_count(2)
    expect(here.get_by_text("was taken again, and both are kept")).to_be_visible()
    # Nothing is thrown away before the person says so.
    assert len(rows(form, "photographs")) == 2
    here.get_by_role("button", name="Remove the earlier one").click()
    expect(here.locator(".shot")).to_have_count(1)
    expect(here.locator(".notice")).to_have_count(0)
    here.locator(".shot").click()
    view = form.get_by_role("dialog")
    expect(view).to_contain_text("Checked after the shot: sharp, steady and well exposed.")
    (kept,) = rows(form, "photographs")
    assert kept["shot_check"] == {
        "sharp": True, "steady": True, "exposed": True, "sentences": []
    }  # fmt: skip
    view.get_by_role("button", name="Close").click()

    # Kept as it is: the words stay with the photograph, and it is sent with them.
    tablet.photograph_by(form, "normal", picture(0, level=255))
    expect(here.get_by_text("burnt out to white")).to_be_visible()
    here.get_by_role("button", name="Keep it as it is").click()
    expect(here.locator(".notice")).to_have_count(0)
    expect(here.locator(".shot .tag")).to_have_text("Badly exposed")
    # A dark picture is what ultraviolet gives.
    tablet.photograph_by(form, "ultraviolet", picture(0, level=60))
    expect(slot(form, "ultraviolet").locator(".shot")).to_have_count(1)
    wait_for(lambda: all(row["shot_check"] for row in rows(form, "photographs")), form)
    expect(slot(form, "ultraviolet").locator(".shot .tag")).to_have_count(0)

    small_server.start()
    form.context.set_offline(False)
    wait_until_nothing_waits(form)
    stored = museum.read(small_server.data, "SELECT shot_check FROM examination_photograph")
    said = [json.loads(check) for (check,) in stored]
    assert sorted((one["sharp"], one["exposed"]) for one in said) == [
        (True, False), (True, True), (True, True)
    ]  # fmt: skip


NEVER_ANSWERS = """
() => {
  window.Worker = class extends EventTarget {
    postMessage() {
      window.asked = (window.asked ?? 0) + 1;
    }
    terminate() {}
  };
}
"""


def test_a_check_that_never_answers_hinders_neither_the_next_shot_nor_the_signature(
    form: Page,
) -> None:
    form.evaluate(NEVER_ANSWERS)
    for light in ("normal", "transmitted"):
        tablet.photograph_by(form, light, picture(4.5, level=200 if light == "normal" else 210))
    form.wait_for_function("window.asked === 1")
    assert [row["shot_check"] for row in rows(form, "photographs")] == [None, None]
    tablet.choose(form, "nothing-seen", "said")
    tablet.sign(form)
    assert rows(form, "examinations")[0]["signed_at"]


def test_what_a_check_says_too_late_leaves_a_signed_examination_as_it_is(form: Page) -> None:
    tablet.photograph_by(form, "normal", tablet.shot(1))
    tablet.choose(form, "nothing-seen", "said")
    tablet.sign(form)
    note = """
    async (id) => {
      const { noteShotCheck } = await import("/field/store/write.js");
      await noteShotCheck(id, { sharp: false, steady: true, exposed: true, sentences: ["Late."] });
    }
    """
    form.evaluate(note, rows(form, "photographs")[0]["id"])
    assert rows(form, "photographs")[0]["shot_check"] is None
    expect(form.locator(".messages .notice")).to_have_count(0)


def test_the_lamp_s_timer_outlives_a_reload_and_must_be_stopped_before_signing(form: Page) -> None:
    form.clock.install()
    form.reload()
    tablet.field(form, "light:ultraviolet").click()
    here = slot(form, "ultraviolet")
    expect(here.get_by_text("Ultraviolet harms eyes and skin")).to_be_visible()
    began = time.monotonic()
    tablet.field(form, "lamp").click()
    expect(here.get_by_text("The lamp is on; the timer runs.")).to_be_visible()
    form.clock.fast_forward("05:00")
    form.reload()
    # In the closed slot too: a lamp that is on is not to be overlooked.
    expect(here.get_by_role("timer")).to_contain_text("5 min")
    form.clock.fast_forward("06:00")
    expect(here.get_by_text("More than the 10 min set for one examination")).to_be_visible()
    expect(form.get_by_text("The timer of the ultraviolet lamp runs.")).to_be_visible()

    tablet.field(form, "lamp").click()
    expect(form.get_by_text("The timer of the ultraviolet lamp runs.")).to_have_count(0)
    # The 11 min, and what the test itself took meanwhile.
    lamp_s = rows(form, "examinations")[0]["lamp_s"]
    assert 660 <= lamp_s <= 660 + time.monotonic() - began + 1
    # Forgotten over lunch: it asks.
    if not here.get_by_text("Time under the lamp").is_visible():
        tablet.field(form, "light:ultraviolet").click()
    tablet.field(form, "lamp").click()
    form.clock.fast_forward("01:10:00")
    tablet.field(form, "lamp").click()
    expect(here.get_by_text("Was the lamp on all that time?")).to_be_visible()
    assert reading.faults(form) == []
    here.get_by_role("button", name="No, add nothing").click()
    expect(here.get_by_text("in this examination", exact=True)).to_be_visible()
    assert rows(form, "examinations")[0]["lamp_s"] == lamp_s
    here.get_by_text("Write the lamp time by hand").click()
    tablet.field(form, "examination:lamp_s").fill("2,5")
    expect(here.get_by_role("timer")).to_have_text("2 min 30 s")
    tablet.field(form, "examination:lamp_s").fill("ten")
    expect(here.get_by_text("“ten” is not a number.")).to_be_visible()


def test_a_watermark_is_recorded_signed_amended_and_sent(form: Page, small_server: Server) -> None:
    tablet.field(form, "watermark:add").click()
    mark = form.locator(".watermarks section").first
    key = mark.locator("[data-field]").first.get_attribute("data-field") or ""
    key = key.split(":")[1]

    def part(name: str) -> Any:
        return tablet.field(form, f"watermark:{key}:{name}")

    part("motif").fill("Crown over a shield")
    tablet.choose(form, f"watermark:{key}:seen_from", "mould")
    for name, text in {
        "width_mm": "24", "height_mm": "51,5", "to_left_chain_mm": "0", "to_right_chain_mm": "9",
        "chain_interval_mm": "25",
    }.items():  # fmt: skip
        part(name).fill(text)
    expect(mark.get_by_text("make 33 mm together")).to_be_visible()
    part("to_right_chain_mm").fill("1")
    expect(mark.get_by_text("mm together")).to_have_count(0)
    part("chains_within").fill("1.5")
    expect(mark.get_by_text("give a whole number")).to_be_visible()
    part("chains_within").fill("0")
    mark.get_by_text("Match in a printed repertory").click()
    part("repertory").fill("Marsh, Marks of the Reed Mills")
    part("repertory_from_year").fill("1720")
    part("repertory_to_year").fill("1715")
    expect(mark.get_by_text("The last year lies before the first").first).to_be_visible()
    # Mending the first year takes up the last one too.
    part("repertory_from_year").fill("1710")
    expect(mark.get_by_text("The last year lies before the first")).to_have_count(0)
    tablet.choose(form, f"watermark:{key}:match", "variant")
    assert reading.faults(form) == []

    tablet.field(form, "watermark:add").click()
    expect(form.locator(".watermarks section")).to_have_count(2)
    second = form.locator(".watermarks section").last
    second.get_by_role("button", name="Remove this watermark").click()
    second.locator(".remove-question").get_by_role("button", name="Remove this").click()
    expect(form.locator(".watermarks section")).to_have_count(1)

    tablet.choose(form, "nothing-seen", "said")
    tablet.sign(form)
    main = form.get_by_role("main")
    expect(main).to_contain_text("Watermark: crown over a shield")
    expect(main).to_contain_text("51.5 ± 0.5 mm")
    expect(main).to_contain_text("Marsh, Marks of the Reed Mills, 1710–1715")
    form.get_by_role("button", name="Add an amendment").click()
    form.locator("label.choice-tile", has_text="Watermark: crown over a shield").click()
    form.locator("label.choice-tile", has_text=re.compile("^Height$")).click()
    form.get_by_label("Amended to").fill("52")
    form.get_by_label("Why it is amended").fill("Measured again.")
    form.get_by_label("Your name, as signature").fill("Iona Saltmarsh")
    form.get_by_role("button", name="Sign the amendment").click()
    amended = form.locator(".amendment")
    expect(amended).to_contain_text("Watermark: crown over a shield: height")
    expect(amended).to_contain_text("52 mm")

    wait_until_nothing_waits(form)
    [stored] = museum.read(
        small_server.data,
        "SELECT motif, width_mm, to_left_chain_mm, chains_within, repertory_to_year, match"
        " FROM examination_watermark WHERE deleted_at IS NULL",
    )
    assert stored == ("Crown over a shield", 24.0, 0.0, 0, 1715, "variant")
    [(after,)] = museum.read(small_server.data, "SELECT after FROM examination_amendment")
    assert json.loads(after) == 52
