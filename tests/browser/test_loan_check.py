"""A courier by an open crate: a phone, a pass, no network, and the points one by one."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import museum, reading, small_loan, tablet
from tests.browser.conftest import PHONE, TABLET, Opener
from tests.browser.server import Server
from tests.browser.small_loan import Lent

# What a label stands for in its own size has no size.
TOO_SMALL = """
() => [...document.querySelectorAll("a, button, input, textarea, select, summary")]
  .filter((element) => {
    const { width, height } = element.getBoundingClientRect();
    const isShown = width && height && !element.matches(".visually-hidden");
    return isShown && (width < 47.5 || height < 47.5);
  })
  .map((element) => `too small: ${element.outerHTML.slice(0, 120)}`)
"""


def faults(page: Page) -> list[str]:
    found: list[str] = page.evaluate(TOO_SMALL)
    return found + reading.faults(page)


def opened(browser: BrowserContext, server: Server, token: str) -> Page:
    """The loan's screen, by a pass, with everything carried."""
    page = tablet.open_app(browser, server, f"#/pass/{token}")
    page.get_by_role("button", name="Open the loan here").click()
    expect(page.locator(".carrying")).to_contain_text("All of it is on this", timeout=90_000)
    return page


def go(page: Page, route: str) -> None:
    page.goto(re.sub(r"#.*", "", page.url) + route)


def step(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="Steps of the check").get_by_role("link", name=name).click()


def point(page: Page, number: int) -> None:
    expect(page.get_by_role("heading", name=f"Point {number} of 3")).to_be_visible()


def compared_in_turn(page: Page) -> None:
    """One in the place of the other: by itself until it is stopped, then by hand."""
    page.get_by_role("button", name="In turn").click()
    shown = page.locator(".compare .sv-words")
    expect(shown).to_have_text(re.compile("^Then, "))
    expect(shown).to_have_text(re.compile("^Now: "))
    page.get_by_role("button", name="Stop").click()
    before = shown.inner_text()
    page.wait_for_timeout(2_000)
    expect(shown).to_have_text(before)
    page.get_by_role("button", name="Show the other").click()
    expect(shown).not_to_have_text(before)
    expect(page.get_by_role("button", name="Show them in turn")).to_be_visible()
    # Those who asked their device for less motion change pictures by hand.
    page.emulate_media(reduced_motion="reduce")
    expect(page.get_by_role("button", name="Show them in turn")).to_have_count(0)
    page.get_by_role("button", name="Side by side").click()
    page.get_by_role("button", name="In turn").click()
    page.wait_for_timeout(2_000)
    expect(shown).to_have_text(re.compile("^Then, "))
    page.get_by_role("button", name="Show the other").click()
    expect(shown).to_have_text(re.compile("^Now: "))
    page.emulate_media(reduced_motion="no-preference")


def placed_and_compared(page: Page) -> None:
    """The new photograph is placed from the comparison, which then lies by the sheet."""
    by_edges = page.get_by_text("so the two lie by their edges only")
    expect(by_edges).to_be_visible()
    page.get_by_role("button", name="Set the corners").click()
    pane = page.locator(".sv-pane.aims")
    pane.locator("canvas").first.wait_for()
    box = pane.bounding_box()
    assert box
    for x, y in ((-60, -50), (60, -50), (60, 50), (-60, 50)):
        page.mouse.move(box["x"] + box["width"] / 2 + x, box["y"] + box["height"] / 2 - 32 + y)
        page.mouse.down()
        page.mouse.up()
    page.get_by_role("button", name="Keep the corners").click()
    expect(page.locator(".compare .sv-layer")).to_have_count(2)
    expect(by_edges).to_have_count(0)
    expect(page.get_by_text("it lies by its edges only")).to_have_count(0)


@pytest.mark.parametrize(("look", "size"), [("light", PHONE), ("dim", PHONE), ("light", TABLET)])
def test_a_sheet_is_checked_point_by_point_without_a_network(
    lending: tuple[Server, Lent], open_browser: Opener, look: str, size: dict[str, int]
) -> None:
    server, lent = lending
    browser = open_browser(viewport=size)
    browser.add_init_script(f"localStorage.setItem('fieldleaf-look', '{look}')")
    seen: dict[str, list[str]] = {}

    page = tablet.open_app(browser, server, f"#/pass/{lent.passes[0]}")
    page.get_by_role("heading", name="What happens next").wait_for()
    seen["pass"] = faults(page)
    page = opened(browser, server, lent.passes[0])
    assert lent.passes[0] not in page.url
    page.go_back()
    assert lent.passes[0] not in page.url

    # The network goes, the server too, and the app is opened cold.
    browser.set_offline(True)
    server.stop()
    page.close()
    page = tablet.open_app(browser, server)
    expect(page.get_by_role("heading", name="Loan L.2026.4")).to_be_visible()
    expect(page.locator(".carrying")).to_contain_text("All of it is on this")
    expect(page.get_by_text("2 of 2 objects left: outgoing check")).to_be_visible()
    # Crate 2 before crate 10.
    expect(page.locator(".traveller").first).to_contain_text("PE.1931.6")
    seen["loan"] = faults(page)

    page.get_by_role("button", name="Begin outgoing check, PE.1931.6").click()
    page.get_by_label("Seal numbers").fill("A 2231, A 2232")
    page.get_by_label("Temperature now").fill("25")
    expect(page.get_by_text("3 °C warmer than agreed")).to_be_visible()
    page.get_by_label("Relative humidity now").fill("over 9000")
    expect(page.get_by_text("is not a number")).to_be_visible()
    page.get_by_label("Relative humidity now").fill("50")
    tablet.choose(page, "glazing", "cracked")
    expect(page.get_by_text("Caution: glass and broken glazing")).to_be_visible()
    seen["unpacking"] = faults(page)
    page.get_by_role("link", name="Points: 3 left").click()

    # A true change: said in words, photographed through the photograph of then.
    point(page, 1)
    expect(page.locator(".sv-outline.damage")).to_be_visible()
    expect(page.get_by_text("At the right edge, 8 mm long, lies flat.")).to_be_visible()
    expect(page.get_by_text("Same light as then: recto, raking light, 270°.")).to_be_visible()
    seen["point"] = faults(page)
    page.get_by_role("button", name="Changed").click()
    page.get_by_label("What changed?").fill("Now 12 mm long, and open at its end.")
    tablet.choose(
        page, page.locator(".point fieldset input").first.get_attribute("name") or "", "moderate"
    )
    expect(page.get_by_text("2 of 3 left").first).to_be_visible()
    page.get_by_role("button", name="Live view").click()
    expect(page.locator("img.ghost")).to_be_visible()
    ghost = page.locator("img.ghost")
    assert ghost.evaluate("(one) => getComputedStyle(one).opacity") == "0.4"
    page.get_by_role("button", name="Hold to see it alone").dispatch_event("pointerdown")
    expect(ghost).to_have_css("opacity", "1")
    page.get_by_role("button", name="Hold to see it alone").dispatch_event("pointerup")
    expect(ghost).to_have_css("opacity", "0.4")
    seen["camera"] = faults(page)
    if size == PHONE:
        # Above the live picture when it is asked for; the shutter keeps its place.
        above = page.locator(".camera-above .sv-pane")
        expect(above).to_have_count(0)
        page.get_by_role("button", name="Earlier picture").click()
        expect(above.locator(".sv-outline.damage")).to_be_visible()
        seen["camera with the earlier picture"] = faults(page)
    else:
        expect(page.locator(".camera-beside .sv-outline.damage")).to_be_visible()
        expect(page.get_by_role("button", name="Earlier picture")).to_be_hidden()
    expect(page.get_by_role("button", name="Take the photograph")).to_be_in_viewport(ratio=1)
    page.get_by_role("button", name="Take the photograph").click()
    expect(page.get_by_text("1 photograph kept under this light")).to_be_visible()
    page.get_by_role("button", name="Close", exact=True).click()
    page.get_by_role("button", name="Compare then and now").click()
    expect(page.locator(".compare .sv-layer")).to_have_count(2)
    seen["compare"] = faults(page)
    compared_in_turn(page)
    seen["in turn"] = faults(page)
    placed_and_compared(page)
    seen["compare placed"] = faults(page)
    page.get_by_role("button", name="Close", exact=True).click()
    page.get_by_role("link", name="Next open point").click()

    # "Same" brings the next one by itself, also one that was passed over.
    point(page, 2)
    page.get_by_role("link", name="The point after").click()
    point(page, 3)
    page.get_by_role("button", name="Same").click()
    point(page, 2)
    expect(page.get_by_text("1 of 3 left").first).to_be_visible()

    # What is open hinders the signature, and says which.
    step(page, "Sign")
    expect(page.get_by_role("button", name="1 point open: not yet")).to_be_disabled()
    seen["not yet"] = faults(page)
    page.get_by_role("link", name="Handling crease").click()
    point(page, 2)
    page.get_by_role("button", name="Not visible").click()
    seen["reason"] = faults(page)
    page.get_by_role("button", name="Verso not accessible").click()
    page.get_by_role("link", name="All points").click()
    expect(page.get_by_text("0 of 3 left")).to_be_visible()
    # What the desk added to the earlier state since it was signed is told beside its points.
    expect(page.get_by_role("main")).to_contain_text("One more spot, seen by comparing")
    seen["points"] = faults(page)

    # What is new, as in any examination, and back.
    page.get_by_role("link", name="What is new").click()
    page.get_by_role("link", name="Record something new").click()
    tablet.tick(page, "abrasion", "abrasion")
    expect(page.get_by_role("button", name="Sign and finish")).to_have_count(0)
    page.get_by_role("link", name="Back to the check").click()
    expect(page.get_by_role("main")).to_contain_text("Abrasion")
    expect(page.get_by_role("main")).to_contain_text("One more spot, seen by comparing")
    seen["new"] = faults(page)
    page.get_by_role("link", name="Go on to sign").click()
    expect(page.get_by_role("link", name="Sign the outgoing check")).to_be_visible()
    seen["sign"] = faults(page)

    # Everything arrives.
    server.start()
    browser.set_offline(False)
    tablet.send_all(page)
    answers = museum.read(
        server.data,
        "SELECT answer, reason FROM loans_pointcheck ORDER BY observation_id",
    )
    assert answers == [
        ("changed", "Now 12 mm long, and open at its end."),
        ("same", ""),
        ("not-visible", "Verso not accessible"),
    ]
    carried_over = museum.read(
        server.data,
        """SELECT o.term_id, o.severity FROM examination_observation o
           JOIN loans_loancheck c ON c.examination_id = o.examination_id
           WHERE o.deleted_at IS NULL ORDER BY o.id""",
    )
    assert carried_over == [("tear", "moderate"), ("foxing", "moderate"), ("abrasion", "")]
    ((temperature, seals, photographs),) = museum.read(
        server.data,
        """SELECT c.temperature_c, c.seals, COUNT(p.photograph_id) FROM loans_loancheck c
           JOIN loans_pointcheck p ON p.loan_check_id = c.id""",
    )
    assert (temperature, seals, photographs) == (25.0, "A 2231, A 2232", 1)
    assert {name: said for name, said in seen.items() if said} == {}


def test_a_pass_opens_one_loan_on_one_device(
    lending: tuple[Server, Lent], open_browser: Opener
) -> None:
    server, lent = lending
    page = opened(open_browser("first", viewport=PHONE), server, lent.passes[0])
    for elsewhere in ("#/find", "#/visits", "#/start", "#/loans", "#/loan/another"):
        go(page, elsewhere)
        page.wait_for_timeout(300)
        expect(page.get_by_role("link", name="Find an object")).to_have_count(0)
    go(page, "#/settings")
    expect(page.get_by_text("Pass of Wenna Tregear")).to_be_visible()
    expect(page.get_by_role("heading", name="What this device carries")).to_have_count(0)
    assert faults(page) == []
    rows = page.evaluate(
        "import('/field/store/database.js').then(({ db }) => Promise.all([db.objects.count(),"
        " db.locations.count(), db.moves.count()]))"
    )
    assert rows == [2, 0, 0]
    # The same link on the same phone leads to the loan again.
    go(page, f"#/pass/{lent.passes[0]}")
    expect(page.get_by_role("heading", name="Loan L.2026.4")).to_be_visible()

    second = tablet.open_app(
        open_browser("second", viewport=PHONE), server, f"#/pass/{lent.passes[0]}"
    )
    second.get_by_role("button", name="Open the loan here").click()
    expect(second.get_by_role("alert")).to_contain_text("opened on another device (Phone)")
    go(second, f"#/pass/{lent.passes[3]}")
    second.get_by_role("button", name="Open the loan here").click()
    expect(second.get_by_role("alert")).to_contain_text("This pass ended on")
    second.get_by_role("button", name="Close").click()
    go(second, "#/sign-in")
    second.get_by_role("link", name="I have a courier’s pass").click()
    second.get_by_label("Or paste the link").fill("PE.1931.6")
    second.get_by_role("button", name="Go on").click()
    expect(second.get_by_role("alert")).to_contain_text("This is not a courier’s pass.")
    assert faults(second) == []
    second.get_by_label("Or paste the link").fill(f"{server.address}/field/#/pass/{lent.passes[1]}")
    second.get_by_role("button", name="Go on").click()
    second.get_by_role("button", name="Open the loan here").click()
    expect(second.get_by_role("heading", name="Loan L.2026.4")).to_be_visible()


def test_unsent_work_of_somebody_else_is_not_overwritten(
    lending: tuple[Server, Lent], open_browser: Opener
) -> None:
    server, lent = lending
    browser = open_browser(viewport=PHONE)
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, small_loan.CONSERVATOR, small_loan.PASSWORD)
    expect(page.locator(".sync-line")).to_contain_text("Sent", timeout=90_000)
    browser.set_offline(True)
    tablet.start_visit(page, "bench")
    go(page, f"#/pass/{lent.passes[0]}")
    expect(page.get_by_role("alert")).to_contain_text("Iona Saltmarsh works on this device")
    expect(page.get_by_role("button", name="Open the loan here")).to_have_count(0)
    assert faults(page) == []
    page.get_by_role("link", name="Send first").click()
    browser.set_offline(False)
    tablet.send_all(page)
    go(page, "#/pass")
    expect(page.get_by_text("Opening the pass signs Iona Saltmarsh out here")).to_be_visible()
    page.get_by_role("button", name="Open the loan here").click()
    expect(page.get_by_role("heading", name="Loan L.2026.4")).to_be_visible()


def withdraw(server: Server) -> None:
    now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S")
    museum.write(server.data, "UPDATE access_loanpass SET revoked_at = ?", now)
    museum.write(server.data, "UPDATE access_device SET revoked_at = ?", now)


def test_a_withdrawn_pass_leaves_unsent_work_to_a_file(
    lending: tuple[Server, Lent], open_browser: Opener
) -> None:
    server, lent = lending
    browser = open_browser(viewport=PHONE)
    page = opened(browser, server, lent.passes[0])
    browser.set_offline(True)
    page.get_by_role("button", name="Begin outgoing check, PE.1931.6").click()
    page.get_by_label("Seal numbers").fill("A 2231")
    page.wait_for_timeout(300)
    withdraw(server)
    browser.set_offline(False)
    expect(page.get_by_role("heading", name="This pass was withdrawn")).to_be_visible()
    expect(page.get_by_role("alert")).to_contain_text("Not all that you recorded is sent.")
    assert faults(page) == []
    with page.expect_download() as download:
        page.get_by_role("button", name="Save unsent work to a file").click()
    assert download.value.suggested_filename.startswith("fieldleaf-unsent-")
    go(page, f"#/loan/{lent.loan}")
    expect(page.get_by_role("heading", name="This pass was withdrawn")).to_be_visible()


def test_a_pass_that_is_over_takes_the_loan_off_the_phone(
    lending: tuple[Server, Lent], open_browser: Opener
) -> None:
    server, lent = lending
    browser = open_browser(viewport=PHONE)
    page = opened(browser, server, lent.passes[0])
    browser.set_offline(True)
    browser.clock.set_fixed_time(datetime.now(UTC) + timedelta(days=90))
    page.reload()
    expect(page.get_by_role("heading", name="This pass is over")).to_be_visible()
    expect(page.get_by_text("were taken off this phone")).to_be_visible()
    assert faults(page) == []
    # A clock that is set back opens nothing again.
    browser.clock.set_fixed_time(datetime.now(UTC))
    page.reload()
    expect(page.get_by_role("heading", name="This pass is over")).to_be_visible()
    left = page.evaluate(
        "import('/field/store/database.js').then(({ db }) => Promise.all([db.loans.count(),"
        " db.photographs.count(), db.previews.count(), db.thumbnails.count()]))"
    )
    assert left == [0, 0, 0, 0]


def test_a_conservator_carries_a_loan_and_lets_it_go(
    lending: tuple[Server, Lent], open_browser: Opener
) -> None:
    server, _ = lending
    page = tablet.open_app(open_browser(), server)
    tablet.sign_in(page, small_loan.CONSERVATOR, small_loan.PASSWORD)
    expect(page.locator(".sync-line")).to_contain_text("Sent", timeout=90_000)
    page.get_by_role("link", name="Loans").click()
    page.get_by_role("heading", name="Now and to come").wait_for()
    assert faults(page) == []
    page.get_by_role("link", name="L.2026.4").click()
    page.get_by_role("button", name="Carry this loan’s pictures").click()
    # The server makes the pictures when they are first asked for.
    expect(page.locator(".carrying")).to_contain_text("All of it is on this tablet", timeout=60_000)
    assert faults(page) == []
    page.get_by_role("button", name="Do not carry its pictures any longer").click()
    expect(page.locator(".carrying")).to_contain_text("0 of 2 pictures")
    assert (
        page.evaluate("import('/field/store/database.js').then(({ db }) => db.previews.count())")
        == 0
    )
