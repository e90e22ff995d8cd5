"""Every page of the desk: readable to all, in both looks and at both widths."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser import museum, tablet
from tests.browser.conftest import TABLET, Opener
from tests.browser.server import Server

LAPTOP = {"width": 1440, "height": 900}


def sign_in(page: Page, server: Server, who: tuple[str, str]) -> None:
    page.goto(f"{server.address}/sign-in")
    page.get_by_label("Name").fill(who[0])
    page.get_by_label("Password").fill(who[1])
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Act now")).to_be_visible()


def pages(server: Server) -> list[str]:
    """The address of one page of each kind, with records on it."""
    ((examination, examined),) = museum.read(
        server.data,
        """SELECT e.id, e.object_id FROM examination_examination e
           JOIN examination_photograph p ON p.examination_id = e.id
           JOIN examination_observation o ON o.examination_id = e.id
           WHERE e.signed_at IS NOT NULL LIMIT 1""",
    )
    ((photograph,),) = museum.read(server.data, "SELECT id FROM examination_photograph LIMIT 1")
    ((visit,),) = museum.read(server.data, "SELECT id FROM examination_visit LIMIT 1")
    return [
        "/",
        "/act-now",
        "/queue",
        "/queue?studio=paper&kind=treat",
        "/queue/print",
        "/objects",
        "/objects?q=nothing-has-this-name",
        "/objects/import",
        f"/objects/{examined}",
        f"/objects/{examined}/edit",
        f"/objects/{examined}/move",
        f"/objects/{examined}/label",
        "/visits",
        f"/visits/{visit}",
        f"/examinations/{examination}",
        f"/photographs/{photograph}",
        "/questions",
        "/weights",
        "/vocabulary",
        "/vocabulary/add",
        "/devices",
        "/tablet",
        "/no-such-page",
    ]


def faults(page: Page) -> list[str]:
    found = []
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append("wider than the screen")
    for violation in Axe().run(page).response["violations"]:
        if violation["impact"] in ("serious", "critical"):
            found.append(f"{violation['id']}: {violation['nodes'][0]['html'][:160]}")
    return found


@pytest.mark.parametrize("look", ["light", "dim"])
def test_every_page_is_readable_and_fits(server: Server, open_browser: Opener, look: str) -> None:
    browser = open_browser("desk", viewport=LAPTOP)
    browser.add_cookies([{"name": "look", "value": look, "url": server.address}])
    page = browser.new_page()
    page.goto(f"{server.address}/sign-in")
    found = {"/sign-in": faults(page)}
    sign_in(page, server, tablet.HEAD)
    for address in pages(server):
        for size in (LAPTOP, TABLET):
            page.set_viewport_size(size)
            answer = page.goto(server.address + address)
            assert answer is not None and answer.status in (200, 404), address
            assert page.locator("html").get_attribute("data-look") == look
            found[f"{address} at {size['width']}"] = faults(page)
    assert {address: said for address, said in found.items() if said} == {}


def test_every_term_light_and_caution_stands_on_the_page_of_the_vocabulary(
    server: Server, open_browser: Opener
) -> None:
    page = open_browser("desk", viewport=LAPTOP).new_page()
    sign_in(page, server, tablet.SECOND)
    page.goto(f"{server.address}/vocabulary")
    shown = page.get_by_role("main").evaluate("(main) => main.textContent")
    shown = re.sub(r"\s+", " ", shown)
    definitions = museum.read(server.data, "SELECT name, definition FROM vocabulary_term")
    assert len(definitions) >= 70
    assert [name for name, definition in definitions if definition not in shown] == []
