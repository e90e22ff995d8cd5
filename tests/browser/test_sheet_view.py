"""The sheet view by itself, as the desk mounts it: photographs looked at together."""

import base64
import io
import re
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Opener
from tests.browser.on_sheet import HEIGHT_MM, WIDTH_MM, on_screen, shots
from tests.browser.server import Server

# On a page that is not the app's: only its tokens are there.
BLANK = """<!doctype html>
<link rel="stylesheet" href="/field/styles/tokens.css">
<body style="margin: 0"><div id="view" style="height: 100vh"></div>
"""
MOUNTED = """
async (data) => {
  const asBlob = (text) => {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    return new Blob([bytes], { type: "image/jpeg" });
  };
  const { mount } = await import("/field/components/sheet-view/mount.js");
  const photographs = data.photographs.map((each) => {
    const preview = asBlob(each.content);
    return { ...each, preview, original: each.original === "same" ? preview : each.original };
  });
  mount(document.getElementById("view"), { ...data, photographs });
}
"""


def photograph(name: str, content: bytes, width: int, height: int, **more: Any) -> dict[str, Any]:
    light, side = name.split()
    return {
        "id": name,
        "light": light,
        "azimuth_deg": None,
        "side": side,
        "name": f"{light.capitalize()} light, {side}",
        "width_px": width,
        "height_px": height,
        "homography": None,
        "content": base64.b64encode(content).decode(),
        "original": None,
        **more,
    }


def mounted(page: Page, server: Server, photographs: list[Any], **more: Any) -> None:
    page.route("**/blank", lambda route: route.fulfill(body=BLANK, content_type="text/html"))
    page.goto(f"{server.address}/blank")
    sheet = {"width_mm": WIDTH_MM, "height_mm": HEIGHT_MM}
    page.evaluate(MOUNTED, {"photographs": photographs, "observations": [], "sheet": sheet, **more})
    expect(page.locator(".sv-layer > canvas").first).to_be_attached()


@pytest.fixture
def view(bare_server: Server, open_browser: Opener) -> Page:
    """Three placed photographs, and one outline on either side."""
    bare_server.start()
    page = open_browser().new_page()
    placed = [
        photograph(
            name, shot.content, shot.width_px, shot.height_px,
            homography=shot.homography.reshape(-1).tolist(), original="same",
        )
        for name, shot in shots().items()
    ]  # fmt: skip
    box = [[10, 10], [40, 10], [40, 30], [10, 30]]
    seen = [
        {"id": name, "number": at, "name": name, "side": side, "nature": nature, "points": box}
        for at, (name, side, nature) in enumerate(
            [("Tear", "recto", "damage"), ("Hinge", "verso", "feature")], 1
        )
    ]
    mounted(page, bare_server, placed, observations=seen)
    return page


def transforms(page: Page) -> list[str]:
    """How the whole photograph of each layer lies."""
    return [
        layer.locator("canvas").first.evaluate("(canvas) => canvas.style.transform")
        for layer in page.locator(".sv-layer").all()
    ]


def test_two_lights_move_and_grow_together(view: Page) -> None:
    view.get_by_role("button", name="Side by side").click()
    expect(view.locator(".sv-layer")).to_have_count(2)
    expect(view.locator(".sv-layer > canvas")).not_to_have_count(0)
    # The camera stood still, so that both lie alike wherever one looks.
    start = transforms(view)
    assert start[0] == start[1]
    pane = view.locator(".sv-pane").first
    box = pane.bounding_box()
    assert box is not None
    view.mouse.move(box["x"] + 100, box["y"] + 200)
    view.mouse.wheel(0, -400)
    view.mouse.down()
    view.mouse.move(box["x"] + 160, box["y"] + 240, steps=4)
    view.mouse.up()
    moved = transforms(view)
    assert moved[0] == moved[1] != start[0]
    pane.focus()
    view.keyboard.press("+")
    view.keyboard.press("ArrowLeft")
    assert transforms(view)[1] != moved[1]
    view.keyboard.press("0")
    assert transforms(view) == start
    expect(view.locator(".sv-pane .sv-scale").first).to_contain_text("mm")


def test_one_light_lies_over_the_other(view: Page) -> None:
    view.get_by_role("button", name="Divider").click()
    upper = view.locator(".sv-layer").nth(1)
    expect(upper).to_have_css("clip-path", re.compile(r"inset\(0(px)? 0(px)? 0(px)? 50%\)"))
    divider = view.get_by_role("slider", name="Divider")
    box = divider.bounding_box()
    assert box is not None
    view.mouse.move(box["x"] + 24, box["y"] + 200)
    view.mouse.down()
    view.mouse.move(256, box["y"] + 220, steps=4)
    view.mouse.up()
    expect(divider).to_have_attribute("aria-valuenow", "25")
    divider.press("ArrowRight")
    expect(divider).to_have_attribute("aria-valuenow", "27")

    view.get_by_role("button", name="Blend").click()
    view.get_by_label("From the first to the second").fill("80")
    expect(upper).to_have_css("opacity", "0.8")


def test_outlines_are_told_by_their_shape_and_the_other_side_s_are_mirrored(view: Page) -> None:
    damage = view.locator(".sv-pane .sv-outline.damage")
    expect(damage.locator("circle.sv-mark")).to_have_count(1)
    expect(view.locator(".sv-pane .sv-outline.feature")).to_have_count(0)
    view.get_by_role("button", name="Those of the verso too").click()
    feature = view.locator(".sv-pane .sv-outline.feature")
    expect(feature.locator("rect.sv-mark")).to_have_count(1)
    expect(view.get_by_role("list", name="What is outlined")).to_contain_text("on the verso")
    line = feature.locator(".sv-line")
    assert line.evaluate("(line) => getComputedStyle(line).strokeDasharray") != "none"
    first = [float(number) for number in re.findall(r"[\d.]+", line.get_attribute("d") or "")[:2]]
    wanted = on_screen(view.locator(".sv-pane"), (WIDTH_MM, HEIGHT_MM), (110, 10), foot=0)
    assert first == pytest.approx(list(wanted), abs=1)

    view.get_by_role("button", name="Outlines").click()
    expect(view.locator(".sv-pane .sv-outline")).to_have_count(0)


def test_the_verso_is_shown_as_seen_through_the_sheet(view: Page) -> None:
    view.get_by_role("button", name="Blend").click()
    view.get_by_label("Second photograph").select_option("normal verso")
    expect(view.get_by_text("mirrored: as seen through the sheet")).to_be_visible()
    expect(view.locator(".sv-layer")).to_have_count(2)
    numbers = [float(n) for n in transforms(view)[1][len("matrix3d(") : -1].split(",")]
    # x runs the other way, y does not.
    assert numbers[0] < 0 < numbers[5]


def turned_photograph() -> bytes:
    """Stored on its side: set upright it is 600 wide and 2400 high, a green square in a corner."""
    upright = Image.new("RGB", (600, 2400), (30, 30, 200))
    upright.paste((20, 200, 20), (400, 2200, 600, 2400))
    upright.paste((200, 20, 20), (0, 0, 100, 100))
    exif = Image.Exif()
    exif[0x0112] = 6
    written = io.BytesIO()
    upright.transpose(Image.Transpose.ROTATE_90).save(written, "JPEG", exif=exif, quality=95)
    return written.getvalue()


def test_one_looks_closely_at_a_photograph_that_was_stored_on_its_side(
    bare_server: Server, open_browser: Opener
) -> None:
    bare_server.start()
    page = open_browser().new_page()
    to_mm = [0.05, 0, 0, 0, 0.05, 0, 0, 0, 1]
    one = photograph(
        "normal recto", turned_photograph(), 2400, 600, homography=to_mm, original="same"
    )
    mounted(page, bare_server, [one], sheet={"width_mm": 30, "height_mm": 120})
    pane = page.locator(".sv-pane")
    corner = on_screen(pane, (30, 120), (29, 119), foot=0)
    page.mouse.move(*corner)
    for _ in range(8):
        page.mouse.wheel(0, -300)
    # A finer part came, and lies over what is kept of the whole.
    expect(page.locator(".sv-layer > canvas")).to_have_count(2)
    screen = np.array(Image.open(io.BytesIO(page.screenshot())))
    red, green, blue = (int(level) for level in screen[int(corner[1]), int(corner[0]), :3])
    assert green > 150
    assert max(red, blue) < 90


def test_a_part_of_a_large_original_is_asked_for_as_one_looks_closely(
    bare_server: Server, open_browser: Opener
) -> None:
    bare_server.start()
    page = open_browser().new_page()
    asked: list[str] = []

    def answer(route: Route) -> None:
        asked.append(route.request.url)
        part = io.BytesIO()
        Image.new("RGB", (300, 200), (220, 40, 40)).save(part, "JPEG")
        route.fulfill(body=part.getvalue(), content_type="image/jpeg")

    page.route("**/region?**", answer)
    small = io.BytesIO()
    Image.new("RGB", (1600, 1200), (90, 90, 90)).save(small, "JPEG")
    to_mm = [0.015, 0, 0, 0, 0.015, 0, 0, 0, 1]
    one = photograph(
        "normal recto", small.getvalue(), 8000, 6000, homography=to_mm, original="/large/region"
    )
    mounted(page, bare_server, [one])
    page.wait_for_timeout(400)
    assert asked == []
    middle = on_screen(page.locator(".sv-pane"), (WIDTH_MM, HEIGHT_MM), (60, 45), foot=0)
    page.mouse.move(*middle)
    for _ in range(6):
        page.mouse.wheel(0, -300)
    expect(page.locator(".sv-layer > canvas")).to_have_count(2)
    numbers = {name: int(value) for name, value in re.findall(r"(\w+)=(\d+)", asked[-1])}
    assert numbers["x"] < 4000 < numbers["x"] + numbers["width"] <= 8000
    assert numbers["y"] < 3000 < numbers["y"] + numbers["height"] <= 6000
    assert max(numbers["width"], numbers["height"]) >= numbers["longest"]
    assert numbers["longest"] <= 2048


def test_a_photograph_that_is_not_placed_says_so(bare_server: Server, open_browser: Opener) -> None:
    bare_server.start()
    page = open_browser().new_page()
    shot = shots()["normal recto"]
    placed = photograph(
        "normal recto", shot.content, shot.width_px, shot.height_px,
        homography=shot.homography.reshape(-1).tolist(),
    )  # fmt: skip
    loose = photograph("raking recto", shot.content, shot.width_px, shot.height_px)
    mounted(page, bare_server, [placed, loose])
    page.get_by_role("button", name="Divider").click()
    expect(page.get_by_text("Raking light, recto. Not placed on the sheet")).to_be_visible()
    expect(page.locator(".sv-scale")).to_have_count(0)
