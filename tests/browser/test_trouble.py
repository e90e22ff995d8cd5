"""What goes wrong between tablet and server is said in a sentence, and loses nothing."""

import hashlib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server, copy_of_the_code

NOTES = "Cockled along the top edge."
PORTAL = "<!doctype html><title>Welcome</title><p>Accept the terms to go on."


def examined_offline(browser: BrowserContext, server: Server) -> tuple[Page, str, bytes]:
    """A sheet examined while the server is away: the form, its number, its photograph."""
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    (number,) = museum.unexamined_objects(server.data, 1)
    content = tablet.shot(7)
    server.stop()
    tablet.start_visit(page, "storage-round")
    tablet.find_and_examine(page, number)
    tablet.photograph_by(page, "normal", content)
    tablet.field(page, "examination:notes").fill(NOTES)
    return page, number, content


def arrived(server: Server, number: str, content: bytes) -> bool:
    notes = museum.read(
        server.data,
        """SELECT notes FROM examination_examination e
           JOIN catalogue_object o ON o.id = e.object_id WHERE o.accession_number = ?""",
        number,
    )
    stored = museum.stored_bytes(server.data, hashlib.sha256(content).hexdigest())
    return notes == [(NOTES,)] and stored == content


def test_a_wrong_password_is_said_plainly(server: Server, open_browser: Opener) -> None:
    page = tablet.open_app(open_browser(), server)
    page.get_by_label("Name you sign in with").fill("maren")
    page.get_by_label("Password", exact=True).fill("not the password")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("main")).to_contain_text("do not belong together")
    assert page.get_by_label("Name you sign in with").input_value() == "maren"


def test_work_goes_on_after_the_sign_in_ended_and_is_sent_after_the_next(
    server: Server, open_browser: Opener
) -> None:
    page, number, content = examined_offline(open_browser(), server)
    museum.write(server.data, "UPDATE access_device SET expires_at = '2020-01-01 00:00:00'")
    server.start()

    # It may have found out by itself already, so there need not be a button to press.
    page.evaluate("import('/field/sync/engine.js').then(({ syncNow }) => syncNow())")
    page.evaluate("location.hash = '#/sync'")
    expect(page.get_by_role("link", name="Sign in again", exact=True)).to_be_visible()
    expect(page.locator(".sync-line")).to_contain_text("Sign in again")
    assert not arrived(server, number, content)
    # Not locked out: the record can still be read and changed.
    page.go_back()
    expect(tablet.field(page, "examination:notes")).to_have_value(NOTES)

    page.evaluate("location.hash = '#/sign-in'")
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.send_all(page)
    assert arrived(server, number, content)


@pytest.mark.parametrize(
    ("where", "answer", "sentence"),
    [
        pytest.param(
            "**/api/sync/**",
            {"status": 500, "body": "Oops"},
            "Everything stays saved here",
            id="the server fails",
        ),
        pytest.param(
            "**/api/**",
            {"status": 200, "content_type": "text/html", "body": PORTAL},
            "Something other than the Fieldleaf server",
            id="the network answers with a page of its own",
        ),
    ],
)
def test_a_wrong_answer_is_said_plainly_and_loses_nothing(
    server: Server, open_browser: Opener, where: str, answer: dict[str, Any], sentence: str
) -> None:
    browser = open_browser()
    page, number, content = examined_offline(browser, server)
    # In this order: nothing may get through by itself in between.
    browser.route(where, lambda route: route.fulfill(**answer))
    server.start()

    page.evaluate("location.hash = '#/sync'")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("main")).to_contain_text(sentence)
    expect(page.locator(".sync-line")).to_contain_text("Waiting to send")

    browser.unroute(where)
    tablet.send_all(page)
    assert arrived(server, number, content)


def test_a_new_version_of_the_app_keeps_unsent_work(
    server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    browser = open_browser()
    page, number, content = examined_offline(browser, server)
    old_caches = page.evaluate("caches.keys()")

    server.root = copy_of_the_code(tmp_path / "next-version")
    with (server.root / "frontend/styles/base.css").open("a") as styles:
        styles.write("/* The next version. */")
    browser.route("**/api/**", lambda route: route.abort())
    server.start()
    page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.update())")
    taking = page.get_by_role("button", name="Use the new version")
    taking.wait_for(timeout=60_000)
    with page.expect_navigation(timeout=60_000):
        taking.click()
    assert set(old_caches).isdisjoint(page.evaluate("caches.keys()"))
    expect(page.locator(".sync-line")).to_contain_text("Waiting to send")

    browser.unroute("**/api/**")
    tablet.send_all(page)
    assert arrived(server, number, content)
