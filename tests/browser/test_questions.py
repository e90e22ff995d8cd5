"""Settling an open question on the tablet: where it is met, and without a network."""

from typing import Any

from playwright.sync_api import Page, expect

from tests.browser import frozen, museum, small_museum
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.small_tablet import post, signed_in, wait_until_nothing_waits

SHOWN, KEPT = small_museum.NOTES[1], small_museum.NOTES[0]


def opened(server: Server, open_browser: Opener) -> Page:
    frozen.give_museum(server, {})
    server.start()
    return signed_in(open_browser(), server)


def go_to(page: Page, route: str) -> None:
    page.evaluate("(route) => { location.hash = route; }", route)


def on_the_server(server: Server) -> Any:
    notes = museum.read(
        server.data,
        "SELECT notes FROM examination_examination WHERE id = ?",
        small_museum.DISPUTED.hex,
    )
    still_open = museum.read(
        server.data, "SELECT count(*) FROM sync_openquestion WHERE settled_at IS NULL"
    )
    return notes[0][0], still_open[0][0]


def test_a_third_value_is_given_offline_beside_the_field_and_sent_later(
    bare_server: Server, open_browser: Opener
) -> None:
    page = opened(bare_server, open_browser)
    go_to(page, "#/sync")
    expect(page.locator(".needs-you")).to_contain_text("SM.3 Reeds, sheet 3Examination: notes")
    bare_server.stop()

    go_to(page, f"#/examine/{small_museum.DISPUTED}")
    card = page.locator("#section-notes .question")
    expect(card).to_be_visible()
    stands, kept = card.locator(".sides > div").all()
    expect(stands).to_contain_text(f"Stands now{SHOWN}Osric Fenwick-Hay, ")
    expect(kept).to_contain_text(f"Kept beside it{KEPT}Iona Saltmarsh, ")
    card.get_by_text("Neither: give another value").click()
    card.get_by_role("button", name="Let this value stand").click()
    expect(card).to_contain_text("Give a value first.")
    card.get_by_label("Another value").fill("Cockled along the foot, else flat.")
    card.get_by_role("button", name="Let this value stand").click()
    expect(card).to_have_count(0)
    notes = page.locator('[data-field="examination:notes"]')
    expect(notes).to_have_value("Cockled along the foot, else flat.")

    bare_server.start()
    wait_until_nothing_waits(page)
    assert on_the_server(bare_server) == ("Cockled along the foot, else flat.", 0)
    go_to(page, "#/sync")
    expect(page.locator(".needs-you")).to_have_count(0)


def test_what_somebody_else_settled_meanwhile_comes_back_as_a_question(
    bare_server: Server, open_browser: Opener
) -> None:
    page = opened(bare_server, open_browser)
    page.context.route("**/api/**", lambda route: route.abort())
    go_to(page, f"#/examination/{small_museum.DISPUTED}")
    page.get_by_role("button", name="Take this instead").click()
    expect(page.locator(".question")).to_have_count(0)
    expect(page.locator("main")).to_contain_text(KEPT)

    settle_elsewhere(bare_server, "Flat all over.")
    page.context.unroute("**/api/**")
    wait_until_nothing_waits(page)
    card = page.locator(".question")
    expect(card).to_contain_text("Stands nowFlat all over.Osric Fenwick-Hay")
    expect(card).to_contain_text(f"Kept beside it{KEPT}Iona Saltmarsh")
    assert on_the_server(bare_server) == ("Flat all over.", 1)


def settle_elsewhere(server: Server, notes: str) -> None:
    """The other conservator answers from another tablet, later by the clock."""
    who = {"username": small_museum.SECOND, "password": small_museum.PASSWORD}
    signed_in_as = post(server, "/api/sign-in", who)
    clock = post(server, "/api/sync/push", {"changes": []}, signed_in_as["token"])["clock"]
    change = {
        "id": str(small_museum.key("change", 99)),
        "entity": "examination",
        "entity_id": str(small_museum.DISPUTED),
        "fields": {"notes": notes},
        "base": newest(server),
        "at": f"{clock[:18]}-{signed_in_as['device_id']}",
        "settles": str(small_museum.QUESTION),
    }
    [result] = post(server, "/api/sync/push", {"changes": [change]}, signed_in_as["token"])[
        "results"
    ]
    assert result["outcome"] == "applied"


def newest(server: Server) -> int:
    [(number,)] = museum.read(server.data, "SELECT max(number) FROM sync_change")
    return int(number)
