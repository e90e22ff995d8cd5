"""The whole way of a loan: out from the desk, checked and signed on a phone without a network or a
server, and back at the desk; and what else the pass opens, which is nothing."""

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, expect

from survey.demo.sheet.camera import Camera, jpeg
from survey.demo.sheet.recipe import Mark, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of
from tests.browser import museum, small_loan, tablet
from tests.browser.conftest import PHONE, Opener
from tests.browser.server import Server, manage
from tests.browser.small_loan import Lent
from tests.browser.test_loan_check import go, opened, step
from tests.browser.test_signing import sign_by_two
from tests.reading.sheets import PX_PER_MM, RECIPE
from tests.reports.documents import in_one

DESK = {"width": 1440, "height": 900}
TEAR_MM = ((70.0, 100.0), (69.0, 88.0), (71.0, 76.0))

PLACE = """
async ([sha256, homography]) => {
  const { db } = await import("/field/store/database.js");
  const { save } = await import("/field/store/write.js");
  const all = await db.photographs.toArray();
  const photograph = all.find((one) => one.sha256 === sha256);
  await save("photograph", photograph.id, { homography });
}
"""
TRIED = """
async (paths) => {
  const { readSetting } = await import("/field/store/database.js");
  const { headersFor } = await import("/field/store/server.js");
  const { token } = await readSetting("session");
  const answers = {};
  for (const path of paths) {
    answers[path] = (await fetch(path, { headers: headersFor(token) })).status;
  }
  return answers;
}
"""


def arrival(recipe: SheetRecipe, camera: Camera, warm: float) -> tuple[bytes, list[float]]:
    """A photograph at the other end, under a warmer lamp; and how it truly lies."""
    sheet = build(recipe, PX_PER_MM)
    pixels = render(sheet, "normal", camera=camera)
    lit = np.clip(pixels * np.array([1.0 + warm, 1.0, 1.0 - warm]), 0, 255).astype(np.uint8)
    return jpeg(lit, PX_PER_MM), [
        float(one) for one in truth_of(sheet, "recto", camera)["homography"]
    ]


def sha256_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def at_the_desk(page: Page, server: Server, lent: Lent) -> str:
    """The outgoing checks of both sheets, signed; and a pass made: its address."""
    page.goto(server.address)
    page.get_by_label("Sign-in name").fill(small_loan.CONSERVATOR)
    page.get_by_label("Password").fill(small_loan.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Act now").wait_for()
    for number in lent.numbers:
        page.goto(f"{server.address}/loans/{lent.loan}")
        page.get_by_role("link", name=f"Outgoing check of {number}").click()
        page.get_by_label("Seal numbers").fill("A 2231")
        page.get_by_label("alone, without a drawing").first.check()
        page.get_by_role("button", name="Sign the outgoing check").click()
        expect(page.get_by_text("The outgoing check is signed.")).to_be_visible()
        expect(page.get_by_role("main")).to_contain_text("Iona Saltmarsh")
    page.goto(f"{server.address}/loans/{lent.loan}")
    page.get_by_label("Name of the courier").fill("Wenna Tregear")
    page.get_by_role("button", name="Make a pass").click()
    return page.locator(".code.link a").get_attribute("href") or ""


def answer_points(page: Page, answers: list[str]) -> None:
    page.get_by_role("link", name="Next open point").click()
    for number, answer in enumerate(answers, 1):
        expect(
            page.get_by_role("heading", name=f"Point {number} of {len(answers)}")
        ).to_be_visible()
        page.get_by_role("button", name=answer, exact=True).click()
        if answer == "Not visible":
            page.get_by_role("button", name="Verso not accessible").click()
            page.get_by_role("link", name="Next open point").click()
    expect(page.get_by_text(f"0 of {len(answers)} left").first).to_be_visible()


def photograph_what_is_new(page: Page, shot: tuple[bytes, list[float]], tear: bool) -> None:
    step(page, "New")
    page.get_by_role("link", name="Record something new").click()
    tablet.photograph_by(page, "normal", shot[0])
    page.evaluate(PLACE, [sha256_of(shot[0]), shot[1]])
    if tear:
        tablet.tick(page, "tear", "tear")
    page.get_by_role("link", name="Back to the check").click()


def test_a_loan_goes_out_is_checked_on_arrival_and_is_believed_at_home(
    lending: tuple[Server, Lent], open_browser: Opener, tmp_path: Path
) -> None:
    server, lent = lending
    desk_browser = open_browser("desk", viewport=DESK)
    desk = desk_browser.pages[0]
    address = at_the_desk(desk, server, lent)

    phone = open_browser("phone", viewport=PHONE, accept_downloads=True)
    phone.set_default_timeout(60_000)
    page = opened(phone, server, address.rpartition("/")[2])

    # No network and no server; the app is opened cold.
    phone.set_offline(True)
    server.stop()
    page.close()
    page = tablet.open_app(phone, server)
    expect(page.get_by_text("2 of 2 objects left: arrival check")).to_be_visible()

    torn = arrival(
        SheetRecipe(**{**RECIPE.__dict__, "marks": (*RECIPE.marks, Mark("tear", TEAR_MM))}),
        Camera(exposure=0.9),
        0.04,
    )
    only_light = arrival(RECIPE, Camera(margin_mm=15.0, exposure=0.8, unevenness=0.1), 0.08)
    changed, unchanged = lent.numbers
    saved: dict[str, Path] = {}
    for number, answers, shot in (
        (changed, ["Same", "Not visible", "Same"], torn),
        (unchanged, ["Same"], only_light),
    ):
        go(page, f"#/loan/{lent.loan}")
        page.get_by_role("button", name=f"Begin arrival check, {number}").click()
        page.get_by_label("Temperature now").fill("20")
        page.get_by_label("Relative humidity now").fill("50")
        step(page, "Points")
        answer_points(page, answers)
        photograph_what_is_new(page, shot, tear=number == changed)
        step(page, "Sign")
        page.get_by_role("link", name="Sign the arrival check").click()
        sign_by_two(page)
        page.get_by_role("link", name="report").first.click()
        with page.expect_download() as coming:
            page.get_by_role("button", name="Save the report").click()
        saved[number] = tmp_path / f"{number}.html"
        coming.value.save_as(saved[number])

    # What the lender has in hand verifies by itself.
    report = phone.new_page()
    report.goto(saved[changed].as_uri())
    text = in_one(report.locator("body").inner_text())
    assert "Tear" in text and "Verso not accessible" in text
    signed = json.loads(report.locator("#signed").text_content() or "")
    assert len(signed["signatures"]) == 2
    report.close()

    # Back on a network everything arrives, and the desk believes it.
    server.start()
    phone.set_offline(False)
    tablet.send_all(page)
    for file in saved.values():
        manage(server.data, "verify-signature", str(file))
    rows = museum.read(
        server.data,
        """SELECT c.id, c.examination_id, o.accession_number, c.statement <> '',
             (SELECT COUNT(*) FROM loans_signature s WHERE s.loan_check_id = c.id)
           FROM loans_loancheck c JOIN examination_examination e ON e.id = c.examination_id
           JOIN catalogue_object o ON o.id = e.object_id
           WHERE c.stage = 'arrival' ORDER BY o.accession_number""",
    )
    assert [(number, bool(is_signed), count) for _, _, number, is_signed, count in rows] == [
        (changed, True, 2),
        (unchanged, True, 2),
    ]
    for content in (torn[0], only_light[0]):
        assert museum.stored_bytes(server.data, sha256_of(content)) == content
    # What changed was asked for by itself, once all had arrived.
    manage(server.data, "worker", "--once")
    told = {}
    for check, examination, number, *_ in rows:
        desk.goto(f"{server.address}/loan-checks/{hyphened(check)}")
        expect(desk.get_by_role("main")).to_contain_text("Wenna Tregear")
        desk.goto(f"{server.address}/examinations/{hyphened(examination)}/changes")
        main = desk.get_by_role("main")
        expect(main.get_by_role("heading", name="Places to look at")).to_be_visible()
        told[number] = main.locator("ol.asked > li").count()
    assert told[changed] >= 1
    assert told[unchanged] == 0

    # The pass opens this loan and nothing else.
    assert_nothing_else_opens(page, desk, server, open_browser, address)


def hyphened(key: str) -> str:
    return re.sub(r"^(.{8})(.{4})(.{4})(.{4})(.{12})$", r"\1-\2-\3-\4-\5", key.replace("-", ""))


def assert_nothing_else_opens(
    page: Page, desk: Page, server: Server, open_browser: Opener, address: str
) -> None:
    ((other, examination),) = museum.read(
        server.data,
        """SELECT p.sha256, p.examination_id FROM examination_photograph p
           JOIN examination_examination e ON e.id = p.examination_id
           JOIN catalogue_object o ON o.id = e.object_id
           WHERE o.accession_number = 'PE.1931.8'""",
    )
    closed = {
        f"/api/photographs/{other}/original": 404,
        f"/api/photographs/{other}/preview": 404,
        f"/api/photographs/{other}/thumbnail": 404,
        f"/api/readings?examination={hyphened(examination)}": 403,
        f"/api/alignments?examination={hyphened(examination)}": 403,
    }
    assert page.evaluate(TRIED, list(closed)) == closed
    held: list[Any] = page.evaluate(
        """import("/field/store/database.js").then(({ db }) =>
             db.objects.toArray()).then((all) => all.map((one) => one.accession_number).sort())"""
    )
    assert held == ["PE.1931.6", "PE.1931.7"]
    page.goto(f"{server.address}/loans")
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    second = open_browser("second", viewport=PHONE)
    stranger = tablet.open_app(second, server, f"#/pass/{address.rpartition('/')[2]}")
    stranger.get_by_role("button", name="Open the loan here").click()
    expect(stranger.get_by_text("was opened on another device")).to_be_visible()
