"""A browser that was killed in the middle of writes keeps all that was saved before and after."""

from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser import field_work
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for
from tests.faults.processes import browser_on, kill_tree

# LevelDB divides its log into blocks, and a long entry into pieces that end with their block.
BLOCK = 32_768
ROW = 60_000
# Bytes that do not shrink, and fewer than Chromium would put into a file of its own (64 KiB).
LARGE_ROW = """
async (size) => {
  const { db } = await import("/field/store/database.js");
  await db.settings.put({ key: "large", value: crypto.getRandomValues(new Uint8Array(size)) });
}
"""
KEPT = """
async () => {
  const { db, readSetting } = await import("/field/store/database.js");
  const visits = await db.visits.toArray();
  const own = visits.map(({ name }) => name).filter((name) => ["Before", "After"].includes(name));
  return [own.sort().join(), (await readSetting("large")) !== undefined];
}
"""


def killed(browser: BrowserContext, profile: Path) -> Path:
    """Kill the browser; the log that it was writing."""
    kill_tree(browser_on(profile))
    with suppress(Error):  # It says so when it finds itself dead.
        browser.close()
    return max(profile.glob("**/IndexedDB/*.indexeddb.leveldb/*.log"))


def tear(log: Path, cut_at: int) -> None:
    """Cut the log within the row that was written last, so far behind the start of a block."""
    block = -((ROW - log.stat().st_size) // BLOCK) * BLOCK
    with log.open("r+b") as file:
        file.truncate(block + cut_at)


def opened_again(browser: BrowserContext, server: Server) -> Page:
    page = browser.pages[0]
    page.goto(f"{server.address}/field/")
    expect(page.get_by_role("heading", name="My visits")).to_be_visible(timeout=30_000)
    return page


@pytest.mark.parametrize("cut_at", [-100, 1000], ids=["little is missing", "much is missing"])
def test_half_an_entry_at_the_end_of_the_log_costs_nothing_that_was_saved(
    cut_at: int, small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    """What is appended next would spoil the half entry, and all with it, or be taken for a part
    of it and vanish."""
    profile = tmp_path / "tablet"
    browser = open_browser()
    page = field_work.signed_in(browser, small_server.address)
    browser.set_offline(True)
    field_work.begin_visit(page, "Before")
    page.evaluate(LARGE_ROW, ROW)
    log = killed(browser, profile)
    tear(log, cut_at)

    browser = open_browser()
    page = opened_again(browser, small_server)
    assert page.evaluate(KEPT) == ["Before", False]
    field_work.begin_visit(page, "After")
    assert killed(browser, profile) != log

    page = opened_again(open_browser(), small_server)
    assert page.evaluate(KEPT) == ["After,Before", False]
    expect(page.get_by_text("The browser has cleared")).to_have_count(0)


# A write of more than 1 KiB is begun on the disk before it is done, to be undone if need be.
TWO_WRITES = """
async () => {
  const { default: Dexie } = await import("/field/vendor/dexie.js");
  const { db } = await import("/field/store/database.js");
  const content = crypto.getRandomValues(new Uint8Array(5000));
  window.begun = 0;
  for (const [table, row] of [
    [db.settings, { key: "half done", value: content }],
    [db.uploads, { sha256: "half done", trouble: "", content }],
  ]) {
    void db.transaction("rw", table, async () => {
      await table.put(row);
      window.begun += 1;
      await Dexie.waitFor(new Promise((resolve) => setTimeout(resolve, 60_000)));
    });
  }
}
"""
HALF_DONE = """
async () => {
  const { db } = await import("/field/store/database.js");
  const rows = await Promise.all([db.settings.get("half done"), db.uploads.get("half done")]);
  return rows.filter(Boolean).length;
}
"""


def test_a_kill_in_the_middle_of_two_writes_empties_nothing(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    browser = open_browser()
    page = field_work.signed_in(browser, small_server.address)
    field_work.begin_visit(page, "Before")
    page.evaluate(TWO_WRITES)
    page.wait_for_function("window.begun > 0")
    # Time for the second to begin, were it to.
    page.wait_for_timeout(1500)
    killed(browser, tmp_path / "tablet")

    page = opened_again(open_browser(), small_server)
    assert page.evaluate(KEPT) == ["Before", False]
    assert page.evaluate(HALF_DONE) == 0


HOLD = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("fieldleaf-new-log");
  opening.onsuccess = () => resolve((window.held = opening.result).version);
  opening.onerror = () => reject(opening.error);
})
"""


def test_a_window_that_hinders_the_new_log_does_not_keep_others_from_saving(
    small_server: Server, open_browser: Opener
) -> None:
    browser = open_browser()
    field_work.signed_in(browser, small_server.address).evaluate(HOLD)
    # The second waits for the first, and the third behind the second.
    for name in ("Before", "After"):
        page = browser.new_page()
        page.goto(f"{small_server.address}/field/")
        # Begun and not waited for here, so that a write that never ends is told of.
        page.evaluate(f"(name) => void ({field_work.NEW_VISIT})(name)", name)
    wait_for(lambda: page.evaluate(KEPT) == ["After,Before", False], page)
