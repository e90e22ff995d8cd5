"""The browser allows the app no more room: nothing typed or shot is lost, and all goes on after."""

import hashlib
from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser import tablet
from tests.faults.bench import Bench

LIGHT = "normal"
SPARE_BYTES = 2_500_000
# More than the start could give back by beginning a new log, whose old one shrinks in a table.
SHORT_BY_BYTES = 200_000


class Quota:
    """What the browser allows the app, through its developers' protocol."""

    def __init__(self, bench: Bench) -> None:
        assert bench.browser
        self.bench = bench
        self.page = bench.examiner.page
        self.session = bench.browser.new_cdp_session(self.page)
        self.origin = {"origin": bench.address}

    def leave(self, spare_bytes: int) -> None:
        """No more than what is used now, and this."""
        used = self.session.send("Storage.getUsageAndQuota", self.origin)["usage"]
        limit = {**self.origin, "quotaSize": used + spare_bytes}
        self.session.send("Storage.overrideQuotaForOrigin", limit)
        # Chromium asks again only after it has closed the database, two seconds after the page.
        self.page.goto("about:blank")
        self.page.wait_for_timeout(4000)
        self.page.goto(f"{self.bench.address}/field/")
        self.bench.examiner.go_on(self.page)

    def lift(self) -> None:
        self.session.send("Storage.overrideQuotaForOrigin", self.origin)


def test_a_photograph_that_the_browser_has_no_room_for_is_kept_and_said_so(
    make_bench: Callable[..., Bench],
) -> None:
    bench = make_bench(seed=9)
    bench.begin()
    bench.server.stop()
    examiner, page = bench.examiner, bench.examiner.page
    examiner.type_notes()
    quota = Quota(bench)
    quota.leave(SPARE_BYTES)

    content = examiner.shot(4_000_000)
    tablet.field(page, f"light:{LIGHT}").click()
    tablet.field(page, f"choose:{LIGHT}").set_input_files(
        {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": content}
    )
    slot = page.locator("li.light-slot").filter(has=tablet.field(page, f"light:{LIGHT}"))
    expect(slot).to_contain_text("not saved yet")
    # Words are small: they still go in.
    examiner.type_notes()
    examiner.write_a_few()

    quota.lift()
    hoped = bench.ledger.hope(
        "photographs", sha256=hashlib.sha256(content).hexdigest(), light=LIGHT
    )
    slot.get_by_role("button", name="Keep").click()
    expect(slot.locator(".shot")).to_have_count(1)
    bench.ledger.promise_record(hoped)
    bench.server.start()
    bench.count()
    assert bench.ledger.told == []


def test_words_that_the_browser_has_no_room_for_stay_in_their_field(
    make_bench: Callable[..., Bench],
) -> None:
    bench = make_bench(seed=10)
    bench.begin()
    bench.server.stop()
    examiner, page = bench.examiner, bench.examiner.page
    quota = Quota(bench)
    quota.leave(-SHORT_BY_BYTES)

    words = "Torn at the foot. " * 20
    box = tablet.field(page, "examination:notes")
    bench.ledger.try_value("examinations", examiner.examination, "notes", words)
    box.fill(words)
    problem = page.locator(".examine-actions")
    expect(problem).to_contain_text("This device has no room left")
    expect(box).to_have_value(words)

    quota.lift()
    problem.get_by_role("button", name="Save again").click()
    expect(problem).not_to_contain_text("no room left")
    bench.ledger.promise_value("examinations", examiner.examination, "notes", words)
    bench.server.start()
    bench.count()
    assert bench.ledger.told == []
