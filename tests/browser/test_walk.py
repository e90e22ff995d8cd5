"""The walk of a survey on the tablet: handed out at the desk, walked without a network, counted."""

import re

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import small_museum, small_tablet, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.test_every_tablet_screen import faults

REASON = "In the frame room, with its glass taped"
NEXT = ".walk-next .object-number"
# A visit with so many stops, as it comes from the desk.
LONG_WALK = """
async (many) => {
  const { db } = await import("/field/store/database.js");
  const { session } = await import("/field/store/session.js");
  const object = await db.objects.toCollection().first();
  const places = Array.from({ length: many }, (_, at) => at + 1);
  const row = { id: "long", revision: 1 };
  await db.objects.bulkPut(
    places.map((n) => ({ ...object, id: `o${n}`, accession_number: `LW.${n}` })),
  );
  await db.stops.bulkPut(
    places.map((order) => ({
      ...row, id: `s${order}`, visit: "long", object: `o${order}`, order, missing: "",
    })),
  );
  await db.visits.put({
    ...row, purpose: "storage-round", name: "Long walk", person: session.value.person.id,
    location: null, place: "", started_at: new Date().toISOString(), ended_at: null, note: "",
  });
}
"""


def at_desk(browser: BrowserContext, server: Server) -> Page:
    page = browser.new_page()
    page.goto(server.address)
    page.get_by_label("Sign-in name").fill(small_museum.CONSERVATOR)
    page.get_by_label("Password").fill(small_museum.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Act now").wait_for()
    return page


def hand_out_all(desk: Page, server: Server) -> str:
    """Draw all three sheets and hand them to the conservator; the address of the survey."""
    desk.goto(f"{server.address}/surveys/design")
    desk.get_by_label("Name of the survey").fill("Shelf 1")
    desk.get_by_label("Margin wanted, ± points").fill("")
    desk.get_by_label("Or so many objects").fill(str(len(small_museum.NUMBERS)))
    desk.get_by_role("button", name="Show what it would draw").click()
    desk.get_by_role("button", name="Draw this sample").click()
    desk.locator('select[name="to"]').select_option(label="Iona Saltmarsh")
    desk.get_by_role("button", name="Hand it out").click()
    expect(desk.get_by_text("is handed to Iona Saltmarsh")).to_be_visible()
    return re.sub(r"/walk.*|/hand-out.*", "", desk.url)


def carried(browser: BrowserContext, server: Server) -> Page:
    """The app with the small museum on the tablet, ready for use without a network."""
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    tablet.wait_until_carried(page, len(small_museum.NUMBERS))
    return page


def tally(desk: Page, what: str) -> str:
    found = desk.locator("dl.tallies > div").filter(has=desk.get_by_text(what, exact=True))
    return found.locator("dd").inner_text()


@pytest.fixture
def desk(small_server: Server, open_browser: Opener) -> Page:
    return at_desk(open_browser("desk", viewport={"width": 1440, "height": 900}), small_server)


def test_a_walk_without_a_network_is_counted_at_the_desk(
    small_server: Server, open_browser: Opener, desk: Page
) -> None:
    first, second, third = small_museum.NUMBERS
    survey = hand_out_all(desk, small_server)
    browser = open_browser()
    page = carried(browser, small_server)

    browser.set_offline(True)
    page.get_by_role("link", name="Shelf 1, part 1").click()
    numerals = page.locator(".visit-numerals")
    expect(numerals).to_have_text("3 of 3 left")
    expect(page.locator(NEXT)).to_have_text(first)
    expect(page.locator(".walk-next")).to_contain_text("Store › Shelf 1")
    assert faults(page) == []

    page.get_by_role("button", name="Not found", exact=True).click()
    ask = page.get_by_role("dialog")
    ask.get_by_role("button", name="Note it as not found").click()
    expect(ask.get_by_role("alert")).to_contain_text("Say why it could not be examined")
    ask.get_by_role("button", name="Not at its place").click()
    assert faults(page) == []
    ask.get_by_role("button", name="Note it as not found").click()
    expect(numerals).to_have_text("2 of 3 left")
    expect(page.locator(NEXT)).to_have_text(second)

    # A slip: it is there after all.
    page.get_by_role("button", name="Not found 1").click()
    row = page.locator(".walk-row").filter(has_text=first)
    expect(row).to_contain_text("Not at its place")
    assert faults(page) == []
    row.get_by_role("button", name="Take it back").click()
    expect(numerals).to_have_text("3 of 3 left")
    expect(page.locator(NEXT)).to_have_text(first)

    page.get_by_role("button", name=f"Examine {first}").click()
    tablet.field(page, "place:yes").click()
    page.get_by_role("link", name="Back").click()
    page.get_by_role("button", name="Left 3").click()
    expect(page.locator(".walk-row").filter(has_text=first)).to_contain_text("Not signed")
    page.locator(".walk-row").filter(has_text=first).get_by_role("link").click()
    tablet.choose(page, "nothing-seen", "said")
    tablet.choose(page, "grade", "good")
    tablet.sign(page)
    page.get_by_role("link", name="Back").click()
    expect(numerals).to_have_text("2 of 3 left")

    expect(page.locator(NEXT)).to_have_text(second)
    page.get_by_role("button", name="Not found", exact=True).click()
    ask.get_by_label("Why it could not be examined").fill(REASON)
    ask.get_by_role("button", name="Note it as not found").click()
    expect(page.locator(NEXT)).to_have_text(third)
    page.reload()
    expect(numerals).to_have_text("1 of 3 left")

    browser.set_offline(False)
    small_tablet.wait_until_nothing_waits(page)
    desk.goto(survey)
    assert tally(desk, "examined and signed") == "1"
    assert tally(desk, "could not be examined") == "1"
    assert tally(desk, "still to come") == "1"
    desk.goto(f"{survey}/walk")
    expect(desk.locator("tr").filter(has_text=second)).to_contain_text(REASON)


def test_a_long_walk_draws_no_more_than_is_wanted(
    small_server: Server, open_browser: Opener
) -> None:
    page = carried(open_browser(), small_server)
    page.evaluate(LONG_WALK, 1000)

    page.evaluate("location.hash = '#/visit/long'")

    expect(page.locator(".visit-numerals")).to_have_text("1,000 of 1,000 left")
    expect(page.locator(NEXT)).to_have_text("LW.1")
    rows = page.locator(".walk-row")
    expect(rows).to_have_count(40)
    page.get_by_role("button", name="Show 40 more of 1,000").click()
    expect(rows).to_have_count(80)
    expect(rows.last).to_contain_text("LW.80")
