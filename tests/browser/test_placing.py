"""Photographs laid on the sheet without a network: placed, measured on, outlined, and sent."""

import json
import re
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from survey.demo.sheet.camera import mapped
from tests.browser import field_work, museum, tablet
from tests.browser.conftest import Opener
from tests.browser.on_sheet import (
    CORNERS_MM,
    HEIGHT_MM,
    TEAR_MM,
    WIDTH_MM,
    Shot,
    on_screen,
    shots,
)
from tests.browser.server import Server

SHEET = (WIDTH_MM, HEIGHT_MM)
OUTLINE_MM = [(76.0, 52.0), (94.0, 52.0), (94.0, 88.0), (76.0, 88.0)]
TEAR_LENGTH_MM = float(sum(np.linalg.norm(np.diff(TEAR_MM, axis=0), axis=1)))


@pytest.fixture
def form(small_server: Server, open_browser: Opener) -> Page:
    """The form of a sheet with its three photographs, without a network."""
    browser = open_browser()
    page = field_work.signed_in(browser, small_server.address)
    browser.set_offline(True)
    small_server.stop()
    page.close()
    page = tablet.open_app(browser, small_server)
    tablet.start_visit(page, "bench")
    tablet.find_and_examine(page, field_work.NUMBER)
    tablet.photograph_by(page, "normal", shots()["normal recto"].content)
    tablet.photograph_by(page, "raking", shots()["raking recto"].content)
    tablet.choose(page, "side-up", "verso")
    tablet.photograph_by(page, "normal", shots()["normal verso"].content)
    tablet.choose(page, "side-up", "recto")
    return page


def open_photograph(page: Page, name: str) -> None:
    page.get_by_role("list", name=re.compile("^Photographs, ")).get_by_role(
        "button", name=name
    ).click()


def press(page: Page, place: tuple[float, float]) -> None:
    """Press a little beside a place, aim at it, and lift."""
    page.mouse.move(place[0] + 9, place[1] + 7)
    page.mouse.down()
    page.mouse.move(*place, steps=3)
    expect(page.locator(".loupe canvas").first).to_be_visible()
    page.mouse.up()


def set_corners(page: Page, shot: Shot) -> None:
    pane = page.locator(".sv-pane")
    expect(pane.locator("canvas")).not_to_have_count(0)
    for corner in CORNERS_MM:
        size = (shot.width_px, shot.height_px)
        press(page, on_screen(pane, size, shot.pixel(*corner)))


def place(page: Page, name: str, shot: Shot) -> None:
    open_photograph(page, name)
    page.get_by_role("button", name="Set the sheet’s corners").click()
    set_corners(page, shot)


def press_on_sheet(page: Page, points: Any) -> None:
    pane = page.locator(".sv-pane")
    expect(pane.locator("canvas")).not_to_have_count(0)
    for point in points:
        press(page, on_screen(pane, SHEET, point))


def shown_outline(page: Page, pane: int) -> list[tuple[float, float]]:
    """The corners of the damage's outline as a pane draws them, in page pixels."""
    one = page.locator(".sv-pane").nth(pane)
    box = one.bounding_box()
    assert box is not None
    line = one.locator(".sv-outline.damage .sv-line").get_attribute("d") or ""
    numbers = [float(number) for number in re.findall(r"-?[\d.]+", line)]
    return [(x + box["x"], y + box["y"]) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]


def assert_shown_at(page: Page, pane: int, points: Any) -> None:
    one = page.locator(".sv-pane").nth(pane)
    wanted = [on_screen(one, SHEET, point, foot=0) for point in points]
    assert np.array(shown_outline(page, pane)) == pytest.approx(np.array(wanted), abs=2)


def assert_places(photograph: dict[str, Any], shot: Shot, off_mm: float) -> None:
    """Every place of the sheet, not the corners alone, comes out where the renderer put it."""
    found = np.array(photograph["homography"]).reshape(3, 3)
    for x in (0.0, 40.0, WIDTH_MM):
        for y in (0.0, 50.0, HEIGHT_MM):
            assert mapped(found, *shot.pixel(x, y)) == pytest.approx((x, y), abs=off_mm)


def test_a_sheet_is_placed_measured_and_outlined_and_all_arrives(
    form: Page, small_server: Server
) -> None:
    page = form
    place(page, "Normal light, recto", shots()["normal recto"])
    keep = page.get_by_role("button", name="Keep the corners")
    expect(keep).to_be_disabled()
    page.get_by_label("Height").last.fill("90")
    page.get_by_label("Width").last.fill("120")
    expect(page.get_by_text("A place told on this photograph is sure to ±")).to_be_visible()
    keep.click()
    expect(page.get_by_text("It is placed by the sheet’s corners.")).to_be_visible()

    # The camera stood still: the same corners, looked at.
    page.get_by_role("button", name="Next ›").click()
    page.get_by_role("button", name="Same as normal light, recto").click()
    expect(page.get_by_text("The camera may have moved")).to_be_visible()
    keep.click()
    expect(page.get_by_text("It is placed like normal light, recto.")).to_be_visible()
    page.get_by_role("button", name="Close").click()
    place(page, "Normal light, verso", shots()["normal verso"])
    keep.click()
    page.get_by_role("button", name="Close").click()

    tablet.tick(page, "tear", "tear")
    page.locator(".observation-editor .shot").first.click()
    page.get_by_role("button", name="Draw its outline").click()
    press_on_sheet(page, OUTLINE_MM)
    expect(page.get_by_text(re.compile(r"It covers 6[45]\d ± \d+ mm²"))).to_be_visible()
    page.get_by_role("button", name="Keep the outline").click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("Its outline is drawn on the sheet")).to_be_visible()

    # Measured under the other light, where the outline shows at once.
    open_photograph(page, "Raking light")
    expect(page.locator(".sv-outline.damage")).to_have_count(1)
    page.get_by_role("button", name="Measure on it").click()
    press_on_sheet(page, TEAR_MM)
    page.get_by_label("Measured of").select_option(label="1: tear")
    page.get_by_label("Name of the measurement").fill("Length of the tear")
    page.get_by_role("button", name="Keep the measurement").click()
    measured = re.compile(r"Length of the tear, 3\d\.\d ± 0\.\d+ mm of 1, tear")
    expect(page.get_by_role("dialog").get_by_text(measured)).to_be_visible()
    page.get_by_role("button", name="Done measuring").click()
    page.get_by_role("button", name="Close").click()

    # All of it together: on both lights of the recto, and seen through from the verso.
    tablet.field(page, "compare").click()
    page.get_by_role("button", name="Side by side").click()
    expect(page.locator(".sv-pane")).to_have_count(2)
    # The panes are drawn anew when they have been measured, a moment after they share the room.
    expect(page.locator(".sv-layer")).to_have_count(2)
    for pane in (0, 1):
        assert_shown_at(page, pane, OUTLINE_MM)
    page.get_by_role("button", name="One", exact=True).click()
    page.locator(".sv-pick select").select_option(label="Normal light, verso")
    expect(page.locator(".sv-outline.damage .sv-line")).to_have_count(0)
    page.get_by_role("button", name="Those of the recto too").click()
    assert_shown_at(page, 0, [(WIDTH_MM - x, y) for x, y in OUTLINE_MM])
    page.get_by_role("button", name="Close").click()

    small_server.start()
    page.context.set_offline(False)
    tablet.send_all(page)
    query = """SELECT light, side, id, homography, placing
               FROM examination_photograph ORDER BY side, light"""
    names = ("light", "side", "id", "homography", "placing")
    rows = [dict(zip(names, row, strict=True)) for row in museum.read(small_server.data, query)]
    sent = {
        f"{row['light']} {row['side']}": {
            "id": row["id"],
            **{name: json.loads(row[name]) for name in ("homography", "placing")},
        }
        for row in rows
    }
    for name, shot in shots().items():
        assert_places(sent[name], shot, off_mm=0.3)
    assert sent["normal recto"]["placing"]["kind"] == "corners"
    assert sent["raking recto"]["placing"]["kind"] == "aligned"
    # A place is as sure as the ruler was, or a little less.
    assert 0.5 < sent["normal recto"]["placing"]["uncertainty_mm"] < 0.9

    [(region,)] = museum.read(small_server.data, "SELECT region FROM examination_observation")
    assert np.array(json.loads(region)["points"]) == pytest.approx(np.array(OUTLINE_MM), abs=0.5)
    [(value, uncertainty, unit, photograph, points)] = museum.read(
        small_server.data,
        "SELECT value, uncertainty, unit, photograph_id, points FROM examination_measurement",
    )
    assert value == pytest.approx(TEAR_LENGTH_MM, abs=2 * uncertainty)
    assert (unit, photograph) == ("mm", sent["raking recto"]["id"])
    assert np.array(json.loads(points)) == pytest.approx(np.array(TEAR_MM), abs=0.5)


def test_corners_that_cannot_be_are_told_and_a_point_is_mended_by_keys(form: Page) -> None:
    page = form
    shot = shots()["normal recto"]
    open_photograph(page, "Normal light, recto")
    page.get_by_role("button", name="Set the sheet’s corners").click()
    page.get_by_label("Height").last.fill("90")
    page.get_by_label("Width").last.fill("120")
    pane = page.locator(".sv-pane")
    expect(pane.locator("canvas")).not_to_have_count(0)
    size = (shot.width_px, shot.height_px)
    crossed = [CORNERS_MM[at] for at in (0, 2, 1, 3)]
    for corner in crossed:
        press(page, on_screen(pane, size, shot.pixel(*corner)))
    expect(page.get_by_text("The edges between the corners cross.")).to_be_visible()
    expect(page.get_by_role("button", name="Keep the corners")).to_be_disabled()

    page.get_by_role("button", name="Start again").click()
    set_corners(page, shot)
    expect(page.get_by_role("button", name="Keep the corners")).to_be_enabled()
    # The last one is in hand; ten steps of a large one, and back by hand.
    before = page.locator(".set-point").last.get_attribute("transform")
    pane.focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator(".loupe")).to_be_visible()
    expect(page.locator(".set-point").last).not_to_have_attribute("transform", before or "")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Delete")
    expect(page.locator(".set-point")).to_have_count(3)
    page.get_by_role("button", name="Leave as it was").click()
    expect(page.get_by_text("This photograph is not placed on the sheet yet.")).to_be_visible()


def test_a_scale_gives_lengths_where_the_corners_cannot_be_seen(form: Page) -> None:
    page = form
    shot = shots()["normal recto"]
    open_photograph(page, "Normal light, recto")
    page.get_by_role("button", name="Use the scale").click()
    pane = page.locator(".sv-pane")
    expect(pane.locator("canvas")).not_to_have_count(0)
    size = (shot.width_px, shot.height_px)
    ends = [shot.pixel(x, HEIGHT_MM) for x in (0.0, 50.0)]
    for end in ends:
        press(page, on_screen(pane, size, end))
    page.get_by_label("Length between the two ends").fill("50")
    expect(page.get_by_text("One scale tells how large things are")).to_be_visible()
    page.get_by_role("button", name="Keep the scale").click()
    expect(page.get_by_text("Its size is known by a scale of 50 mm.")).to_be_visible()
    expect(page.get_by_role("button", name="Measure on it")).to_be_visible()
    expect(page.get_by_text("set its corners to outline what shows")).to_be_visible()
