"""Rows of a queue moved by pointer, by keys and by buttons, and counts that stay true."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import TABLET, Opener
from tests.browser.desk import sign_in
from tests.browser.reading import faults
from tests.browser.server import Server, manage

# For a server that shares its machine with other tests.
LONGEST_MS = 20_000
QUEUE = "/queue?studio=paper&kind=treat"
HOLD_ONE = """
from datetime import timedelta
from django.utils import timezone
from survey.access.models import Person
from survey.triage import holding, queries
placed = next(iter(queries.board().queues["paper", "treat"]))
holding.hold(placed.row.key, person=Person.objects.get(username="isobel"), reason="No room",
             until=timezone.localdate() + timedelta(days=9))
"""


@pytest.fixture
def page(server: Server, open_browser: Opener) -> Page:
    page = sign_in(open_browser(viewport=TABLET), server)
    page.goto(server.address + QUEUE)
    return page


def names(page: Page) -> list[str]:
    return page.locator(".queue > li").evaluate_all("all => all.map((row) => row.dataset.name)")


def row(page: Page, name: str) -> Locator:
    return page.locator(f'.queue > li[data-name="{name}"]')


def expect_order(page: Page, wanted: list[str]) -> None:
    for place, name in enumerate(wanted[:5]):
        shown = page.locator(".queue > li").nth(place)
        expect(shown).to_have_attribute("data-name", name, timeout=LONGEST_MS)


def say_why(page: Page, words: str) -> None:
    page.get_by_role("dialog").get_by_label("Why").fill(words)
    page.get_by_role("button", name="Move it").click()
    expect(page.get_by_role("dialog")).to_have_count(0, timeout=LONGEST_MS)


def test_a_row_is_dragged_to_another_place_with_a_reason(page: Page) -> None:
    before = names(page)
    handle = row(page, before[2]).locator(".handle")
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box and box["width"] >= 44 and box["height"] >= 44
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    # At the upper edge the page rolls on until the first row is there.
    page.mouse.move(box["x"] + 20, 4)
    expect(page.locator(".drop-word")).to_have_text("To place 1", timeout=LONGEST_MS)
    expect(page.locator(".drop-line")).to_have_count(1)
    page.mouse.up()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text(f"{before[2]}: from place 3 to 1.")
    assert faults(page) == []
    say_why(page, "The lender comes on Tuesday")
    expect_order(page, [before[2], *before[:2], *before[3:]])
    moved = row(page, before[2])
    expect(moved).to_contain_text("Moved from place 3 to 1 by Isobel Fenwater")
    expect(moved).to_contain_text("The lender comes on Tuesday")


def test_a_row_is_dragged_by_a_finger(page: Page) -> None:
    """As a touch screen tells it: one touch that begins on the handle."""
    before = names(page)
    handle = row(page, before[0]).locator(".handle")
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    second = page.locator(".queue > li").nth(1).bounding_box()
    assert box and second
    finger = page.context.new_cdp_session(page)

    def touch(kind: str, y: float | None) -> None:
        points = [] if y is None else [{"x": box["x"] + 24, "y": y}]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", box["y"] + 24)
    end = second["y"] + second["height"] / 2 + 10
    for step in range(1, 9):
        y = box["y"] + 24 + step / 8 * (min(end, 700) - box["y"] - 24)
        touch("touchMove", y)
    expect(page.locator(".drop-word")).to_have_text("To place 2", timeout=LONGEST_MS)
    touch("touchEnd", None)
    expect(page.get_by_role("dialog")).to_contain_text(f"{before[0]}: from place 1 to 2.")
    say_why(page, "Not before the other")
    expect_order(page, [before[1], before[0], *before[2:]])


def test_what_is_dragged_and_not_explained_stays_where_it_was(page: Page) -> None:
    before = names(page)
    handle = row(page, before[1]).locator(".handle")
    handle.focus()
    page.keyboard.press("Home")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Leave it where it was").click()
    expect_order(page, before)
    page.reload()
    expect_order(page, before)


def test_a_row_is_moved_by_keys_alone(page: Page) -> None:
    before = names(page)
    expect(page.locator("#keys")).to_be_visible()
    handle = row(page, before[3]).locator(".handle")
    handle.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#told")).to_have_text(f"{before[3]}: to place 2")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.keyboard.type("Ready sooner")
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog")).to_have_count(0, timeout=LONGEST_MS)
    expect(page.locator("#told")).to_have_text("Moved to place 3.", timeout=LONGEST_MS)
    expect_order(page, [*before[:2], before[3], before[2], *before[4:]])
    expect(row(page, before[3]).locator(".handle")).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Escape")
    expect_order(page, [*before[:2], before[3], before[2], *before[4:]])


def test_a_refusal_is_said_in_the_dialog_and_nothing_is_moved(page: Page, server: Server) -> None:
    before = names(page)
    manage(server.data, "shell", "-c", HOLD_ONE)
    row(page, before[0]).locator(".handle").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.get_by_role("dialog").get_by_label("Why").fill("Later")
    page.get_by_role("button", name="Move it").click()
    expect(page.get_by_role("dialog")).to_contain_text(
        "is held, so it has no place now", timeout=LONGEST_MS
    )


def test_a_row_is_moved_by_buttons_without_a_new_page(page: Page) -> None:
    before = names(page)
    page.evaluate("window.isTheSame = true")
    second = row(page, before[1])
    second.locator("summary", has_text=re.compile("^Move")).click()
    second.get_by_label("Why").fill("Wanted")
    for name in ("First", "Up one", "Down one", "Put there"):
        box = second.get_by_role("button", name=name).bounding_box()
        assert box and box["height"] >= 44
    second.get_by_role("button", name="Up one").click()
    expect_order(page, [before[1], before[0], *before[2:]])
    assert page.evaluate("window.isTheSame")


def test_counts_stay_true_while_the_page_stands_open(page: Page, server: Server) -> None:
    shown = page.locator('.tabs [data-count="paper/treat"]')
    number = int(shown.inner_text())
    manage(server.data, "shell", "-c", HOLD_ONE)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(shown).to_have_text(str(number - 1), timeout=LONGEST_MS)
    expect(page.locator('.tabs [data-count="held"]')).not_to_have_text("0")


def test_all_is_done_without_scripts_too(server: Server, open_browser: Opener) -> None:
    page = sign_in(open_browser(viewport=TABLET, java_script_enabled=False), server)
    # Each click waits for a whole page.
    page.set_default_timeout(3 * LONGEST_MS)
    page.goto(server.address + QUEUE)
    rows = page.locator(".queue > li")
    first, second = (rows.nth(n).get_attribute("data-name") for n in (0, 1))
    rows.nth(1).locator("summary", has_text=re.compile("^Move")).click()
    rows.nth(1).get_by_label("Why").fill("Wanted")
    rows.nth(1).get_by_role("button", name="Up one").click()
    expect(page.locator(".messages")).to_contain_text("Moved to place 1.")
    expect(rows.nth(0)).to_have_attribute("data-name", second or "")
    expect(rows.nth(1)).to_have_attribute("data-name", first or "")
