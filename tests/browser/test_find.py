"""Finding an object on the tablet: by its label, by typing, and when it is not there."""

import base64

from playwright.sync_api import Page, expect

from survey.catalogue.labels import qr_label
from tests.browser import museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server

# A camera that sees one picture: the label, held before it on grey.
CAMERA = """
(label) => {
  const canvas = Object.assign(document.createElement("canvas"), { width: 640, height: 480 });
  const context = canvas.getContext("2d");
  const picture = new Image();
  picture.src = label;
  setInterval(() => {
    context.fillStyle = "#999";
    context.fillRect(0, 0, 640, 480);
    if (picture.complete) context.drawImage(picture, 200, 120, 240, 240);
  }, 100);
  navigator.mediaDevices.getUserMedia = async () => canvas.captureStream(10);
}
"""


def at_find(browser: Opener, server: Server) -> Page:
    page = tablet.open_app(browser(), server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    page.get_by_role("link", name="Find an object").click()
    return page


def test_it_reads_the_label_that_the_desk_prints(server: Server, open_browser: Opener) -> None:
    (number,) = museum.unexamined_objects(server.data, 1)
    page = at_find(open_browser, server)
    label = base64.b64encode(qr_label(number).encode()).decode()
    page.evaluate(CAMERA, f"data:image/svg+xml;base64,{label}")

    page.get_by_role("button", name="Scan").click()

    expect(page.locator(".object-number")).to_have_text(number)
    expect(page.get_by_role("button", name="Examine", exact=True)).to_be_visible()


def test_it_keeps_the_typed_words_while_an_object_is_looked_at(
    server: Server, open_browser: Opener
) -> None:
    (number,) = museum.unexamined_objects(server.data, 1)
    page = at_find(open_browser, server)
    search = page.get_by_label("Number, title, maker or place")

    search.fill(number)
    page.get_by_role("main").get_by_text(number, exact=True).first.click()
    expect(page.get_by_role("heading", name="Object", exact=True)).to_be_visible()
    page.get_by_role("link", name="Back").click()

    expect(search).to_have_value(number)


def test_it_says_what_to_do_when_no_object_matches(server: Server, open_browser: Opener) -> None:
    page = at_find(open_browser, server)

    page.get_by_label("Number, title, maker or place").fill("no such sheet")

    expect(page.get_by_text("No object carried here matches.")).to_be_visible()
    expect(page.get_by_text("ask the registrar to enter it")).to_be_visible()
