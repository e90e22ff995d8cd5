"""Points and chain lines set at the desk by click, drag and keyboard, and a reading followed."""

from uuid import UUID

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.desk import sign_in
from tests.browser.museum import read
from tests.browser.reading import faults
from tests.browser.server import Server, manage

LAPTOP = {"width": 1440, "height": 900}
# Puts a paper reading with four chain lines to the first examination that has transmitted light.
READ = """
from survey.examination.models import Photograph
from survey.reading.models import Reading
from tests.desk.readings import paper
photograph = Photograph.objects.filter(light="transmitted", side="recto").order_by("pk").first()
Reading.objects.filter(examination=photograph.examination).delete()
result = paper(30.0, 55.0, 80.0, 105.0) | {{"photograph": str(photograph.pk)}}
Reading.objects.create(
    examination=photograph.examination, kind="paper", state="{state}", progress=0.5,
    step="Counting laid lines", photographs=[str(photograph.pk)], result=result, sentence="Read.",
)
"""
DONE = 'from survey.reading.models import Reading; Reading.objects.update(state="done")'


@pytest.fixture
def page(server: Server, open_browser: Opener) -> Page:
    return sign_in(open_browser(viewport=LAPTOP), server)


def read_page(page: Page, server: Server, state: str) -> None:
    """Open the page of the paper that was given a reading."""
    manage(server.data, "shell", "-c", READ.format(state=state))
    page.goto(server.address + examination_with_transmitted_light(server))


def examination_with_transmitted_light(server: Server) -> str:
    ((key,),) = read(
        server.data, "SELECT examination_id FROM reading_reading ORDER BY asked_at DESC LIMIT 1"
    )
    return f"/examinations/{UUID(key)}/paper"


def test_corners_are_set_by_clicks_and_put_right_by_arrow_keys(page: Page, server: Server) -> None:
    page.goto(server.address + "/queue")
    links = page.locator("main a").evaluate_all("all => all.map((a) => a.pathname)")
    page.goto(server.address + next(one for one in links if one.startswith("/objects/")))
    page.get_by_role("link", name="Lights").click()
    page.get_by_role("link", name="Set corners").first.click()
    for field in page.locator(".point input").all():
        field.fill("")
    page.locator(".point input").first.focus()
    view = page.locator(".picker-view")
    view.scroll_into_view_if_needed()
    sheet = page.locator(".picker-sheet")
    box = sheet.bounding_box()
    assert box
    for across, down in ((0.1, 0.1), (0.9, 0.1), (0.9, 0.85), (0.1, 0.85)):
        sheet.click(position={"x": across * box["width"], "y": down * box["height"]})
    expect(page.get_by_role("status")).to_contain_text("All points are set.")
    first = page.locator("[name=at-x0]")
    before = float(first.input_value())
    page.get_by_role("button", name="Top left corner:").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert float(first.input_value()) == pytest.approx(before + 11, abs=0.2)
    page.get_by_role("button", name="Closer").click()
    assert faults(page) == []
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".messages")).to_contain_text("saved how it lies on the sheet")


def test_a_chain_line_is_moved_taken_away_and_added(page: Page, server: Server) -> None:
    read_page(page, server, "done")
    drawn = page.locator(".drawn svg")
    second = page.get_by_role("slider", name="Chain line 2")
    second.focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.get_by_label("Chain line 2, mm")).to_have_value("56.10")
    page.get_by_role("slider", name="Chain line 3").focus()
    page.keyboard.press("Delete")
    expect(page.get_by_role("checkbox", name="Take away").nth(2)).to_be_checked()
    page.get_by_role("button", name="Add one by a click on the picture").click()
    drawn.scroll_into_view_if_needed()
    box = drawn.bounding_box()
    assert box
    drawn.click(position={"x": 0.75 * box["width"], "y": 0.5 * box["height"]})
    expect(page.locator("form [role=status]")).to_contain_text("Added a chain line at")
    assert faults(page) == []
    page.get_by_role("button", name="Save the chain lines").click()
    expect(page.locator(".messages")).to_contain_text("Corrected.")
    page.wait_for_load_state()
    values = [field.input_value() for field in page.locator(".chain-rows [type=number]").all()]
    kept = [float(value) for value in values if value]
    assert kept[:3] == [30.0, 56.1, 105.0] and len(kept) == 4


def test_a_reading_under_way_is_followed_until_it_is_done(page: Page, server: Server) -> None:
    read_page(page, server, "running")
    expect(page.locator(".under-way")).to_contain_text("Counting laid lines")
    manage(server.data, "shell", "-c", DONE)
    expect(page.get_by_role("heading", name="Figures")).to_be_visible(timeout=20_000)
    expect(page.locator(".under-way")).to_have_count(0)
