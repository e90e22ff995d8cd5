"""Amending a signed examination on the tablet."""

from typing import Any

from playwright.sync_api import Page, expect

from tests.browser import tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for

SIGNED_EXAMINATION = """
async () => {
  const { create, save } = await import("/field/store/write.js");
  const { db } = await import("/field/store/database.js");
  const at = new Date().toISOString();
  const object = await db.objects.filter((row) => row.width_mm && row.height_mm).first();
  const visit = await create("visit", { purpose: "bench", name: "Bench", started_at: at });
  const size = { sheet_width_mm: 154.5, sheet_height_mm: 235 };
  const id = await create("examination", { visit, object: object.id, started_at: at, ...size });
  await create("observation", { examination: id, term: "tear", severity: "slight" });
  await save("examination", id, { grade: "fair", signed_at: at, signed_name: "Mira" });
  return id;
}
"""

REASON_IS_KEPT = """
async ([examination, reason]) => {
  const { readSetting } = await import("/field/store/database.js");
  return (await readSetting(`amendment of ${examination}`))?.reason === reason;
}
"""


def open_signed(browser: Any, server: Server) -> Page:
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    examination = page.evaluate(SIGNED_EXAMINATION)
    page.goto(f"{server.address}/field/#/examination/{examination}")
    page.get_by_role("button", name="Add an amendment").click()
    return page


def pick(page: Page, group: str, option: str) -> None:
    page.get_by_role("group", name=group).get_by_text(option, exact=True).click()


def test_it_shows_the_value_before_and_the_one_after(server: Server, open_browser: Opener) -> None:
    page = open_signed(open_browser(), server)

    pick(page, "What does it correct?", "Tear")
    pick(page, "Which part of it?", "Severity")
    pick(page, "Amended to", "Severe")
    page.get_by_label("Why it is amended").fill("It reaches the image.")
    page.get_by_role("button", name="Sign the amendment").click()

    amendment = page.locator(".amendment")
    expect(amendment).to_contain_text("Slight")
    expect(amendment).to_contain_text("Severe")
    expect(amendment).to_contain_text("It reaches the image.")
    # What was signed still reads as it was signed, and points to the amendment.
    expect(page.locator(".observation")).to_contain_text("Slight")
    expect(page.locator(".observation")).to_contain_text("Amended below")
    # The sheet has one size, as it was measured: the catalogue's is not set beside it.
    expect(page.get_by_text("Sheet measured, height × width")).to_be_visible()
    expect(page.get_by_text("Sheet, height × width")).to_have_count(0)


def test_it_keeps_the_words_of_an_amendment_when_the_app_is_closed(
    server: Server, open_browser: Opener
) -> None:
    browser = open_browser()
    page = open_signed(browser, server)
    pick(page, "What does it correct?", "The examination")
    pick(page, "Which part of it?", "Notes")
    page.get_by_label("Amended to").fill("Seen again by raking light.")
    page.get_by_label("Why it is amended").fill("The first look was by")
    address = page.url
    # Kept when its write is done, a moment after it was typed.
    kept = [address.rsplit("/", 1)[1], "The first look was by"]
    wait_for(lambda: page.evaluate(REASON_IS_KEPT, kept), page)
    page.close()

    page = browser.new_page()
    page.goto(address)
    page.get_by_role("button", name="Add an amendment").click()

    expect(page.get_by_label("Amended to")).to_have_value("Seen again by raking light.")
    expect(page.get_by_label("Why it is amended")).to_have_value("The first look was by")


def test_it_says_what_an_amendment_still_lacks(server: Server, open_browser: Opener) -> None:
    page = open_signed(open_browser(), server)
    sign = page.get_by_role("button", name="Sign the amendment")

    sign.click()
    expect(page.get_by_role("alert")).to_have_text("Choose which part is corrected.")
    pick(page, "Which part of it?", "Sheet height")
    page.get_by_label("Amended to").fill("0")
    sign.click()
    expect(page.get_by_role("alert")).to_have_text("Give the length in mm, from 1 to 10,000.")
    page.get_by_label("Amended to").fill("271,5")
    sign.click()
    expect(page.get_by_role("alert")).to_have_text("Say why it is amended.")
