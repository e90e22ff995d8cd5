"""The main job from end to end, as its users live it."""

import hashlib

from playwright.sync_api import expect

from tests.browser import museum, tablet
from tests.browser.conftest import Opener
from tests.browser.desk import sign_in
from tests.browser.server import Server
from tests.browser.waiting import wait_for

HALF = "Rubbed along the lower edge, wher"
IS_KEPT = """
async (text) => {
  const { db, readSetting } = await import("/field/store/database.js");
  const examinations = await db.examinations.toArray();
  const place = await readSetting("place");
  return examinations.some(({ notes }) => notes === text) && place.caret === text.length;
}
"""


def test_a_storage_round_without_a_network_ends_in_ordered_queues(
    server: Server, open_browser: Opener
) -> None:
    mouldy, torn, rubbed = museum.unexamined_objects(server.data, 3)
    shots = {
        (number, light): tablet.shot(100 * i + j)
        for i, number in enumerate((mouldy, torn, rubbed))
        for j, light in enumerate(tablet.LIGHTS)
    }

    # Once with a network: sign in, and carry the catalogue.
    browser = open_browser()
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)

    # The network goes, the server too, and the app is opened cold.
    browser.set_offline(True)
    server.stop()
    page.close()
    page = tablet.open_app(browser, server)
    tablet.start_visit(page, "storage-round")

    tablet.find_and_examine(page, mouldy)
    tablet.field(page, "place:yes").click()
    for light in tablet.LIGHTS:
        tablet.photograph_by(page, light, shots[mouldy, light])
    tablet.tick(page, "active-mould", "active mould")
    expect(page.get_by_text("respirator").first).to_be_visible()
    tablet.say_of_observation(page, "severity", "moderate")
    tablet.choose(page, "grade", "unstable")
    tablet.recommend(page, "isolate", "2")
    tablet.sign(page)

    page.go_back()
    page.goto(page.url.split("#")[0] + "#/visits")
    page.get_by_role("link", name="Storage round").first.click()
    tablet.find_and_examine(page, torn)
    tablet.field(page, "place:yes").click()
    for light in tablet.LIGHTS:
        tablet.photograph_by(page, light, shots[torn, light])
    tablet.tick(page, "tear", "tear")
    tablet.say_of_observation(page, "severity", "severe")
    tablet.say_of_observation(page, "extent", "several")
    tablet.choose(page, "grade", "poor")
    tablet.recommend(page, "treat", "6")
    tablet.sign(page)

    # Killed in the middle of a word, and opened again: the same field, the same letters.
    page.goto(page.url.split("#")[0] + "#/visits")
    page.get_by_role("link", name="Storage round").first.click()
    tablet.find_and_examine(page, rubbed)
    for light in tablet.LIGHTS:
        tablet.photograph_by(page, light, shots[rubbed, light])
    tablet.tick(page, "abrasion", "abrasion")
    tablet.say_of_observation(page, "severity", "slight")
    notes = tablet.field(page, "examination:notes")
    notes.click()
    notes.press_sequentially(HALF)
    # Letters are kept when their writes are done, and the caret a moment after the last of them.
    wait_for(lambda: page.evaluate(IS_KEPT, HALF), page)
    browser.close()
    browser = open_browser(offline=True)
    page = tablet.open_app(browser, server)
    expect(tablet.field(page, "examination:notes")).to_be_focused()
    expect(tablet.field(page, "examination:notes")).to_have_value(HALF)
    page.keyboard.type("e the mount sits.")
    tablet.field(page, "place:yes").click()
    tablet.choose(page, "grade", "fair")
    tablet.recommend(page, "treat", "3")
    tablet.sign(page)
    expect(page.get_by_text("Rubbed along the lower edge, where the mount sits.")).to_be_visible()
    expect(page.locator(".sync-line")).to_contain_text("Waiting to send")

    # Back in range: everything arrives, to the byte.
    server.start()
    browser.set_offline(False)
    tablet.send_all(page)
    for content in shots.values():
        assert museum.stored_bytes(server.data, hashlib.sha256(content).hexdigest()) == content

    # At the desk, the head of department sees what cannot wait, then the rest in order.
    desk = sign_in(open_browser("desk", viewport={"width": 1440, "height": 900}), server)
    desk.get_by_role("link", name="Act now", exact=True).click()
    expect(desk.get_by_role("main")).to_contain_text(mouldy)
    desk.goto(f"{server.address}/queue?studio=paper&kind=treat")
    text = desk.get_by_role("main").inner_text()
    assert 0 <= text.index(torn) < text.index(rubbed)
    assert mouldy not in text
    row = desk.locator(".queue > li").filter(has_text=torn)
    expect(row).to_contain_text("Tear, severe, several places, recto")
    expect(row).to_contain_text("points of 100; 6 h estimated")
    expect(row).to_contain_text("graded poor")
