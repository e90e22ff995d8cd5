"""A tablet whose database the browser has cleared says what was sent and what was not."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import field_work, small_museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for
from tests.faults.proxy import DROP_ANSWER, DROP_REQUEST, FaultProxy

DELETE_DATABASE = """
() => new Promise((resolve, reject) => {
  const request = indexedDB.deleteDatabase("fieldleaf");
  request.onsuccess = resolve;
  request.onerror = () => reject(request.error);
})
"""
LISTED = "Object.keys(localStorage).filter((key) => key.startsWith('fieldleaf-unsent-')).length"


@pytest.fixture
def proxy(small_server: Server) -> Iterator[FaultProxy]:
    proxy = FaultProxy(small_server.port)
    yield proxy
    proxy.stop()


def cleared(browser: BrowserContext, page: Page, also: str = "") -> Page:
    """The app opened again after the browser has cleared its database."""
    app = page.url.split("#")[0]
    # A page of the same origin that is not the app, whether there is a network or not.
    elsewhere = app.replace("/field/", "/elsewhere")
    page.route(elsewhere, lambda route: route.fulfill(body="Elsewhere"))
    page.goto(elsewhere)
    page.evaluate(DELETE_DATABASE)
    if also:
        page.evaluate(also)
    page.close()
    page = browser.new_page()
    page.goto(app)
    return page


def offline_with_a_photograph(browser: BrowserContext, server: Server) -> Page:
    """The app with a visit, an examination and a photograph that are listed as not sent."""
    page = field_work.signed_in(browser, server.address)
    browser.set_offline(True)
    field_work.photograph(page, 3)
    wait_for(lambda: page.evaluate(LISTED) == 4, page)
    return page


def test_it_says_item_by_item_what_was_sent_and_what_was_not(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    browser = open_browser()
    page = field_work.signed_in(browser, proxy.address)
    field_work.photograph(page, 1)
    field_work.wait_until_sent(page)

    # One arrives but its answer is lost, then nothing arrives any more.
    proxy.rule = lambda method, path: DROP_ANSWER if path == "/api/sync/push" else None
    field_work.begin_visit(page, "Answer lost")
    wait_for(lambda: field_work.visits(small_server, "Answer lost") == 1, page)
    proxy.rule = lambda method, path: DROP_REQUEST if path.startswith("/api/") else None
    field_work.photograph(page, 2)
    field_work.begin_visit(page, "Never sent")
    # Visit, examination and photograph with its file, and the two visits.
    wait_for(lambda: page.evaluate(LISTED) == 6, page)

    page = cleared(browser, page)
    expect(page.get_by_role("heading", name="Cleared by the browser")).to_be_visible()
    main = page.get_by_role("main")
    expect(main).to_contain_text("3 changes and 1 photograph, the last on")
    expect(main).to_contain_text("5 changes and 1 photograph (")
    expect(main).to_contain_text("The server is still to be asked")
    lost = main.locator("section:has(> h4)")
    expect(lost.filter(has_text=field_work.NUMBER)).to_contain_text(
        "Raking light, 290°, recto, the picture itself, "
    )
    expect(lost.filter(has_text="Never sent")).to_contain_text("Visit, ")
    expect(lost.filter(has_text="Never sent")).to_contain_text("Iona Saltmarsh")
    expect(lost.filter(has_text="Answer lost")).to_have_count(1)
    expect(main).to_contain_text("camera roll")

    # Asked once there is a network and a sign-in: one had arrived.
    proxy.rule = lambda method, path: None
    page.get_by_role("link", name="Sign in").click()
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)
    page.get_by_role("link", name="See what was sent and what was not").click()
    expect(main).to_contain_text("1 thing noted as not sent has arrived after all")
    expect(main).to_contain_text("The server was asked and has none of it.")
    expect(lost.filter(has_text="Answer lost")).to_have_count(0)
    expect(lost.filter(has_text="Never sent")).to_have_count(1)
    # What was sent has come back by itself.
    assert (
        page.evaluate("import('/field/store/database.js').then(({ db }) => db.photographs.count())")
        == 1
    )

    # It can be kept outside, and stays until it is put away.
    with page.expect_download() as download:
        page.get_by_role("button", name="Save this list").click()
    text = download.value.path().read_text()
    assert "Not sent: Never sent: Visit" in text
    assert "Arrived after all: Answer lost: Visit" in text
    page.reload()
    expect(lost.filter(has_text="Never sent")).to_have_count(1)
    page.get_by_role("button", name="Put this list away").click()
    page.get_by_role("button", name="Put it away").click()
    expect(page.get_by_role("heading", name="My visits")).to_be_visible()
    expect(page.get_by_text("The browser has cleared")).to_have_count(0)
    page.reload()
    expect(page.get_by_role("heading", name="My visits")).to_be_visible()


def test_when_the_list_went_too_it_still_says_how_much_was_not_sent(
    small_server: Server, open_browser: Opener
) -> None:
    browser = open_browser()
    page = offline_with_a_photograph(browser, small_server)
    page = cleared(browser, page, also="localStorage.clear()")
    expect(page.get_by_role("heading", name="Cleared by the browser")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text("3 changes and 1 photograph were not sent")


def test_a_window_that_stayed_open_while_it_was_cleared_hides_nothing(
    small_server: Server, open_browser: Opener
) -> None:
    browser = open_browser()
    page = offline_with_a_photograph(browser, small_server)
    page.evaluate(DELETE_DATABASE)
    field_work.begin_visit(page, "Written after it")
    page.wait_for_timeout(2000)  # Long enough for the list to be brought in line, were it so.
    page.reload()
    expect(page.get_by_role("heading", name="Cleared by the browser")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text("3 changes and 1 photograph (")
    page.get_by_role("link", name="Sign in").click()
    browser.set_offline(False)
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    wait_for(lambda: field_work.visits(small_server, "Written after it") == 1, page)


def test_a_tablet_that_was_never_used_says_nothing_of_the_kind(
    small_server: Server, open_browser: Opener
) -> None:
    page = field_work.signed_in(open_browser(), small_server.address)
    page.reload()
    expect(page.get_by_role("heading", name="My visits")).to_be_visible()
    assert page.evaluate("localStorage.getItem('fieldleaf-cleared')") is None
