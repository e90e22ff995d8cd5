"""Over the years, in a real browser: two states are picked and lead to what changed."""

import json
import re
from uuid import UUID

from playwright.sync_api import expect

from tests.browser.conftest import Opener
from tests.browser.desk import sign_in
from tests.browser.museum import read
from tests.browser.reading import faults
from tests.browser.server import Server

SIZES = ({"width": 1440, "height": 900}, {"width": 1024, "height": 768})


def test_two_states_of_a_torn_print_lead_to_what_changed(
    server: Server, open_browser: Opener
) -> None:
    [(item, count)] = read(
        server.data,
        """SELECT object_id, COUNT(*) FROM examination_examination WHERE signed_at IS NOT NULL
           GROUP BY object_id ORDER BY COUNT(*) DESC LIMIT 1""",
    )
    browser = open_browser(viewport=SIZES[0])
    page = sign_in(browser, server)
    page.goto(f"{server.address}/objects/{UUID(item)}")
    page.get_by_role("link", name="Over the years").click()
    expect(page.get_by_text(f"{count} signed examinations")).to_be_visible()
    for size in SIZES:
        page.set_viewport_size(size)
        assert faults(page) == []
    states = page.locator(".years-states > li")
    expect(states).to_have_count(count)
    expect(page.locator(".timeline .stop")).to_have_count(count)
    # The tear is plotted with its uncertainty and its rate.
    expect(page.get_by_text("mm a year, as a straight line through 4 measurements")).to_be_visible()
    earlier = states.nth(1)
    earlier.get_by_role("radio", name="Earlier").check()
    page.get_by_role("button", name="Compare these two").click()
    expect(page.get_by_role("heading", level=1, name="Changes")).to_be_visible()
    key = re.search(r"earlier=([0-9a-f-]{36})", page.url)
    assert key is not None
    # What was chosen is asked for by choosing it.
    expect(page.get_by_role("progressbar", name="Changes")).to_be_visible()
    asked = read(server.data, "SELECT given FROM reading_reading WHERE kind = 'changes'")
    assert key[1] in [json.loads(given).get("earlier") for (given,) in asked]
