"""Every page of the desk: readable to all, within the window, in both looks, and on paper."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, TABLET, Opener
from tests.browser.desk import sign_in
from tests.browser.reading import faults
from tests.browser.server import Server

LAPTOP = {"width": 1440, "height": 900}
PAGES = [
    "/",
    "/act-now",
    "/queue",
    "/queue?held=yes",
    "/queue?hazard=any&grade=unstable",
    "/queue/print",
    "/plan",
    "/plan/people",
    "/objects",
    "/objects/import",
    "/visits",
    "/surveys",
    "/surveys/design",
    "/surveys/design?name=Store&divided_by=room&margin_points=8&expected_percent=50"
    "&confidence_percent=95&minutes_an_object=10&objects_a_box=20",
    "/loans",
    "/loans/make",
    "/questions",
    "/weights",
    "/light-limits",
    "/weights?risk=1&loss=60&significance=1&need=1&readiness=1",
    "/vocabulary",
    "/vocabulary/add",
    "/devices",
    "/tablet",
    "/nothing-here",
]

# Of one examination: what its lights tell.
TOLD = [
    "lights",
    "paper",
    "watermark",
    "relief",
    "ultraviolet",
    "same-mould",
    "date",
    "colour",
    "changes",
]


def addresses(page: Page, server: Server) -> list[str]:
    """The pages above, and those of one object, examination, photograph and visit."""

    def first(start: str, path: str) -> str:
        page.goto(server.address + start)
        links = page.locator("main a").evaluate_all("all => all.map((a) => a.pathname)")
        return next(link for link in links if re.fullmatch(path, link))

    key = "[0-9a-f-]{36}"
    item = first("/queue", f"/objects/{key}")
    found = [
        item,
        *(f"{item}/{page_of}" for page_of in ("edit", "move", "label", "light", "years")),
    ]
    examination = first(item, f"/examinations/{key}")
    found += [examination, *(f"{examination}/{page_of}" for page_of in TOLD)]
    photograph = first(item, f"/photographs/{key}")
    found += [photograph, *(f"{photograph}/place/{how}" for how in ("corners", "scale"))]
    found += [first("/queue", f"/work/{key}"), first("/queue?held=yes", f"/work/{key}")]
    found.append(first("/visits", f"/visits/{key}"))
    survey = first("/surveys", "/surveys/[0-9]+")
    found += [survey, f"{survey}/walk"]
    loan = first("/loans", f"/loans/{key}")
    found += [loan, f"{loan}/edit", f"{loan}/objects?text=harbour"]
    loaned = first(loan, f"/loaned/{key}")
    found += [loaned, f"{loaned}/begin", f"{loaned}/outgoing"]
    found.append(first(loan, f"/loan-checks/{key}"))
    return [*PAGES, *found]


@pytest.mark.parametrize(("look", "size"), [("light", LAPTOP), ("dim", TABLET), ("light", PHONE)])
def test_every_page_is_readable_and_fits(
    server: Server, open_browser: Opener, look: str, size: dict[str, int]
) -> None:
    browser = open_browser(viewport=size)
    browser.add_cookies([{"name": "look", "value": look, "url": server.address}])
    first = browser.new_page()
    first.goto(server.address)
    found = {"/sign-in": faults(first)}
    page = sign_in(browser, server)
    for address in addresses(page, server):
        page.goto(server.address + address)
        for summary in page.locator("main summary").all()[:3]:
            summary.click()
        found[address] = faults(page)
    assert {address: said for address, said in found.items() if said} == {}


def test_trying_weights_shows_who_moves_without_a_new_page(
    server: Server, open_browser: Opener
) -> None:
    page = sign_in(open_browser(viewport=LAPTOP), server)
    page.goto(server.address + "/weights")
    expect(page.locator("#shifts")).to_contain_text("These are the weights that hold now.")
    page.get_by_label("Risk if left, slider").focus()
    page.keyboard.press("Home")
    expect(page.get_by_label("Risk if left", exact=True)).to_have_value("0")
    expect(page.locator("#shifts")).to_contain_text("would change place. Nothing is saved yet.")
    page.get_by_label("Risk if left", exact=True).fill("-1")
    expect(page.locator("#shifts")).to_contain_text("These weights cannot be tried.")


def test_the_print_view_fits_a4_and_leaves_the_controls_out(
    server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    page = sign_in(open_browser(viewport=LAPTOP), server)
    page.goto(server.address + "/queue/print?studio=paper")
    page.emulate_media(media="print")
    expect(page.get_by_text("Studio: Paper.")).to_be_visible()
    expect(page.get_by_role("navigation")).not_to_be_visible()
    expect(page.get_by_role("button", name="Sign out")).not_to_be_visible()
    page.pdf(path=tmp_path / "queue.pdf", prefer_css_page_size=True)
    boxes = re.findall(
        rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", (tmp_path / "queue.pdf").read_bytes()
    )
    # A4 is 210 × 297 mm, 595 × 842 points of 1/72 inch.
    assert boxes
    assert {(round(float(width)), round(float(height))) for width, height in boxes} <= {
        (595, 842),
        (594, 841),
        (596, 842),
    }


def test_a_piece_of_work_is_readied_by_keyboard_alone(server: Server, open_browser: Opener) -> None:
    page = sign_in(open_browser(viewport=LAPTOP), server)
    page.goto(server.address + "/queue")
    row = page.locator(".queue > li").first
    work = row.get_attribute("id")
    toggle = row.get_by_role("button", name="Space found")
    before = toggle.get_attribute("aria-pressed")
    toggle.focus()
    page.keyboard.press("Enter")
    page.wait_for_url(f"**#{work}")
    after = page.locator(f"#{work}").get_by_role("button", name="Space found")
    expect(after).to_have_attribute("aria-pressed", "false" if before == "true" else "true")
