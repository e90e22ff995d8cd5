"""The week plan as the head of department uses it: made, pinned by dragging and by keyboard."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import PHONE, Opener
from tests.browser.desk import sign_in
from tests.browser.reading import faults
from tests.browser.server import Server

LAPTOP = {"width": 1440, "height": 900}
# A plan of the demo, on a machine that does other things too.
PLANNED_MS = 90_000


@pytest.fixture
def page(server: Server, open_browser: Opener) -> Page:
    """The page of the plan, which was made just now."""
    page = sign_in(open_browser(viewport=LAPTOP), server)
    page.goto(server.address + "/plan")
    page.get_by_role("button", name="Plan the weeks").click()
    expect(page.locator("#under-way")).to_be_visible()
    expect(page.get_by_role("heading", name="Who does what")).to_be_visible(timeout=PLANNED_MS)
    return page


def movable(page: Page) -> Locator:
    """A block that begins in the week that is shown, with an open day before or after it."""
    return page.locator(".block:not(.goes-on)").first


def elsewhere(page: Page, block: Locator) -> Locator:
    """Another day of the same person on which they have hours: the last of the week."""
    person = block.locator("xpath=ancestor::td").get_attribute("data-person")
    return page.locator(f"td[data-open][data-person='{person}']").last


def test_a_block_is_dragged_to_another_day_and_stays_there(page: Page) -> None:
    block = movable(page)
    key, name = block.get_attribute("data-key"), block.get_attribute("data-block")
    target = elsewhere(page, block)
    day = target.get_attribute("data-day")
    handle = block.locator(".handle")
    handle.scroll_into_view_if_needed()
    start, end = handle.bounding_box(), target.bounding_box()
    assert start and end
    assert start["width"] >= 48 and start["height"] >= 48
    page.mouse.move(start["x"] + 24, start["y"] + 24)
    page.mouse.down()
    page.mouse.move(end["x"] + 20, end["y"] + 20, steps=8)
    expect(page.locator("td.target")).to_have_attribute("data-day", day or "")
    with page.expect_navigation(timeout=PLANNED_MS):
        page.mouse.up()
    placed = page.locator(f"td[data-day='{day}'] .block[data-key='{key}']")
    expect(placed).to_contain_text("Pinned")
    expect(page.locator("section[aria-labelledby=pins]")).to_contain_text(name or "")
    assert faults(page) == []


def test_a_drag_that_is_broken_off_changes_nothing(page: Page) -> None:
    block = movable(page)
    handle = block.locator(".handle")
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box
    page.mouse.move(box["x"] + 24, box["y"] + 24)
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 60, steps=4)
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator("#told")).to_have_text("Left where it was.")
    expect(page.locator(".ghost")).to_have_count(0)


def test_a_block_is_pinned_by_keyboard_alone_and_set_free_again(page: Page) -> None:
    block = movable(page)
    key = block.get_attribute("data-key")
    day = elsewhere(page, block).get_attribute("data-day") or ""
    block.get_by_role("link").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=re.compile("^Pin "))).to_be_visible()
    page.get_by_label("On which day").fill(day)
    assert faults(page) == []
    page.get_by_role("button", name="Pin", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator(f"td[data-day='{day}'] .block[data-key='{key}']")).to_contain_text(
        "Pinned", timeout=PLANNED_MS
    )
    page.get_by_role("button", name=re.compile("^Take away")).focus()
    page.keyboard.press("Enter")
    expect(page.locator("section[aria-labelledby=pins]")).to_contain_text(
        "Nothing is pinned", timeout=PLANNED_MS
    )


def test_a_pin_on_a_day_without_hours_is_refused_in_a_sentence(page: Page) -> None:
    movable(page).get_by_role("link").click()
    page.get_by_label("On which day").fill("2099-01-05")
    page.get_by_role("button", name="Pin", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("which is not in these weeks")
    expect(page.get_by_label("On which day")).to_have_value("2099-01-05")


def test_all_weeks_fit_the_paper_and_a_phone(
    page: Page, server: Server, open_browser: Opener
) -> None:
    page.goto(server.address + "/plan?week=all")
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Plan again")).not_to_be_visible()
    # On a weekend the first of the six has passed.
    expect(page.locator("table.days").nth(4)).to_be_visible()
    phone = sign_in(open_browser("phone", viewport=PHONE), server)
    phone.goto(server.address + "/plan")
    assert faults(phone) == []
