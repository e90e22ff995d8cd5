"""Signing a check on a phone without a network, by two hands, and what the server makes of it."""

import re
from typing import Any

from playwright.sync_api import Page, expect

from tests.browser import checked_sheet, field_work, museum, reading, small_tablet, tablet
from tests.browser.conftest import PHONE, Opener
from tests.browser.server import Server
from tests.browser.test_every_tablet_screen import TOO_SMALL
from tests.browser.waiting import wait_for

KEPT = """
async (check) => {
  const { db } = await import("/field/store/database.js");
  const held = await db.loan_checks.get(check);
  return {
    statement: held.statement,
    signatures: await db.signatures.where({ loan_check: check }).sortBy("id"),
    examination: await db.examinations.get(held.examination),
    scroll: scrollY,
  };
}
"""

CHANGE = """
async ([point, fields]) => {
  const { save } = await import("/field/store/write.js");
  await save("point_check", point, fields);
}
"""

SECOND_SIGNS_BY_NAME = """
async (check) => {
  const { readSetting } = await import("/field/store/database.js");
  return (await readSetting(`signing:${check}`)).hands[1].byName;
}
"""


def faults_in_both_looks(page: Page) -> list[str]:
    """What is too small, too wide or hard to read, in the light look and in the dim one."""
    found = []
    for look in ("dim", "light"):
        page.evaluate("(look) => { document.documentElement.dataset.look = look; }", look)
        found += [f"{look}: {fault}" for fault in reading.faults(page)]
    return found + page.evaluate(TOO_SMALL)


def on_a_phone(server: Server, open_browser: Opener, **options: Any) -> Page:
    """The app of somebody who has the loaned sheet on the phone."""
    checked_sheet.lend(server)
    browser = open_browser("phone", viewport=PHONE, **options)
    return field_work.signed_in(browser, server.address)


def open_signing(page: Page, check: str) -> None:
    page.evaluate("(check) => { location.hash = `#/sign/${check}`; }", check)
    page.locator("h1", has_text="Sign the check").wait_for()
    page.locator("main h2").first.wait_for()


def draw(page: Page, hand: int) -> None:
    """Two strokes across the field of a hand."""
    pad = page.locator(".hand").nth(hand - 1).locator(".pad > svg")
    pad.scroll_into_view_if_needed()
    # Not while the page still settles under the hand.
    pad.hover()
    box = pad.bounding_box()
    assert box is not None
    for height in (0.3, 0.6):
        page.mouse.move(box["x"] + 0.15 * box["width"], box["y"] + height * box["height"])
        page.mouse.down()
        for step in range(1, 12):
            across = 0.15 + 0.055 * step
            up = height + (0.12 if step % 2 else -0.12)
            page.mouse.move(box["x"] + across * box["width"], box["y"] + up * box["height"])
        page.mouse.up()
    expect(pad).to_have_attribute("aria-label", re.compile(": signed$"))


def sign_by_two(page: Page) -> None:
    for hand, (role, name, house) in enumerate(
        [("courier", checked_sheet.COURIER, "Port Ellery Museum of Works on Paper"),
         ("receiver", checked_sheet.RECEIVER, checked_sheet.BORROWER)], 1,
    ):  # fmt: skip
        tablet.choose(page, f"role-hand-{hand}", role)
        tablet.field(page, f"hand-{hand}:name").fill(name)
        tablet.field(page, f"hand-{hand}:of").fill(house)
        draw(page, hand)
    tablet.field(page, "sign-check").click()
    page.get_by_role("heading", name="Signed", exact=True).wait_for()


def test_two_people_sign_offline_and_the_server_takes_it_later(
    small_server: Server, open_browser: Opener
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    page.context.set_offline(True)
    open_signing(page, made["check"])
    main = page.get_by_role("main")
    expect(main).to_contain_text("Of 2 points known before: 1 same, 1 changed.")
    expect(main).to_contain_text("Longer by about 6 mm.")
    expect(main).to_contain_text("1 new finding.")
    expect(main).to_contain_text("Time in the closed crate: 20 h, 4 h less than agreed.")
    assert faults_in_both_looks(page) == []

    sign_by_two(page)
    kept = page.evaluate(KEPT, made["check"])
    [sha256] = {one["sha256"] for one in kept["signatures"]}
    expect(page.locator(".hash")).to_have_text(" ".join(re.findall(".{4}", sha256)))
    assert kept["examination"]["signed_name"] == checked_sheet.COURIER
    assert all(len(one["strokes"]) == 2 for one in kept["signatures"])
    numbers = {
        n for one in kept["signatures"] for stroke in one["strokes"] for at in stroke for n in at
    }
    assert all(isinstance(n, int) and 0 <= n <= 1000 for n in numbers)
    expect(main).to_contain_text("It will be sent as soon as there is a network.")
    assert faults_in_both_looks(page) == []

    page.context.set_offline(False)
    small_tablet.wait_until_nothing_waits(page)
    expect(main).to_contain_text("Saved on this device and sent")
    [(statement,)] = museum.read(small_server.data, "SELECT statement FROM loans_loancheck")
    assert statement == kept["statement"]
    rows = museum.read(small_server.data, "SELECT role, sha256 FROM loans_signature ORDER BY role")
    assert rows == [("courier", sha256), ("receiver", sha256)]


def test_open_points_hinder_the_signing_and_are_named(
    small_server: Server, open_browser: Opener
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page, is_open=True)
    open_signing(page, made["check"])
    main = page.get_by_role("main")
    expect(main).to_contain_text("1 known point has neither an answer nor a reason.")
    link = page.get_by_role("link", name="Foxing")
    assert (
        link.get_attribute("href")
        == f"#/check/{made['check']}?step=points&point={made['known'][1]}"
    )
    assert page.locator(".pad").count() == 0
    assert tablet.field(page, "sign-check").count() == 0


def test_a_finger_draws_without_moving_the_page(small_server: Server, open_browser: Opener) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    open_signing(page, made["check"])
    pad = page.locator(".pad > svg").first
    pad.scroll_into_view_if_needed()
    page.wait_for_timeout(200)
    box = pad.bounding_box()
    assert box is not None
    before = page.evaluate("scrollY")
    wire = page.context.new_cdp_session(page)
    at = {"x": box["x"] + 60, "y": box["y"] + box["height"] - 20}
    wire.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [at]})
    for step in range(1, 10):
        moved = {"x": at["x"] + 8 * step, "y": at["y"] - 10 * step}
        wire.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [moved]})
    wire.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(pad).to_have_attribute("aria-label", "Signature of Iona Saltmarsh: signed")
    assert page.evaluate("scrollY") == before
    tablet.field(page, "hand-1:clear").click()
    expect(pad).to_have_attribute("aria-label", "Signature of Iona Saltmarsh: empty")


def test_what_was_drawn_outlives_the_app_but_not_a_change_of_what_is_signed(
    small_server: Server, open_browser: Opener
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    open_signing(page, made["check"])
    draw(page, 1)
    tablet.field(page, "hand-2:name").fill(checked_sheet.RECEIVER)
    tablet.field(page, "hand-2:by-name").click()
    # Kept when its write is done, a moment later.
    wait_for(lambda: page.evaluate(SECOND_SIGNS_BY_NAME, made["check"]), page)
    page.reload()
    expect(page.locator(".pad > svg path")).to_have_count(3)
    expect(page.locator(".by-name")).to_contain_text("Bo Lind signs with the name alone.")

    page.evaluate(CHANGE, [made["points"][0], {"reason": "Longer by about 8 mm."}])
    expect(page.get_by_role("alert").first).to_contain_text("Something was changed after")
    tablet.field(page, "sign-check").click()
    expect(page.get_by_role("main")).to_contain_text(
        "First signature: sign in the field, or with the name."
    )
    assert page.evaluate(KEPT, made["check"])["statement"] == ""


def test_a_signing_that_the_server_refuses_is_told_and_can_be_mended(
    small_server: Server, open_browser: Opener
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    small_tablet.wait_until_nothing_waits(page)
    open_signing(page, made["check"])
    # Somebody at the desk took an answer back that this phone still has.
    museum.write(small_server.data, "UPDATE loans_pointcheck SET answer = '', reason = ''")
    tablet.field(page, "hand-2:name").fill(checked_sheet.RECEIVER)
    tablet.field(page, "hand-2:by-name").click()
    draw(page, 1)
    tablet.field(page, "sign-check").click()
    small_tablet.send_again(page)
    main = page.get_by_role("main")
    expect(main).to_contain_text("it does not count as signed. 2 known points are neither")
    expect(main).to_contain_text("2 known points have neither an answer nor a reason.")
    assert page.evaluate(KEPT, made["check"])["examination"]["signed_at"] is None

    for point in made["points"]:
        page.evaluate(CHANGE, [point, {"answer": "changed", "reason": "Longer."}])
    tablet.field(page, "hand-2:name").fill(checked_sheet.RECEIVER)
    draw(page, 1)
    tablet.field(page, "hand-2:by-name").click()
    tablet.field(page, "sign-check").click()
    small_tablet.wait_until_nothing_waits(page)
    expect(main).to_contain_text("Saved on this device and sent")
    rows = museum.read(small_server.data, "SELECT count(*) FROM loans_signature")
    assert rows == [(2,)]
