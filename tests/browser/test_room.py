"""Room on the tablet: shown, warned of before it is short, and kept by the browser."""

from playwright.sync_api import Page, expect

from tests.browser import field_work, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server

# The browser's own answers, as a test wants them.
ROOM = """
window.room = { usage: 2_000_000_000, quota: 10_000_000_000 };
navigator.storage.estimate = async () => window.room;
navigator.storage.persisted = async () => false;
navigator.storage.persist = async () => false;
window.filesWritten = 0;
const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (value, ...key) {
  if (this.name === "originals" && value.blob) window.filesWritten += 1;
  return put.call(this, value, ...key);
};
"""


def opened(server: Server, open_browser: Opener) -> Page:
    browser = open_browser()
    browser.add_init_script(ROOM)
    return field_work.signed_in(browser, server.address)


def fill(page: Page, left: int) -> None:
    """Leave so many bytes; the app counts again after the next change."""
    page.evaluate("(left) => { window.room.usage = window.room.quota - left; }", left)
    field_work.begin_visit(page, "One more")


def test_it_warns_before_the_room_for_photographs_is_short_and_says_what_to_do(
    small_server: Server, open_browser: Opener
) -> None:
    page = opened(small_server, open_browser)
    page.evaluate("location.hash = '#/sync'")
    room = page.locator("section").filter(has=page.get_by_role("heading", name="Room", exact=True))
    expect(room).to_contain_text("2 GB used, about 8 GB left")
    # Nothing was photographed here yet, so 5 MB each are reckoned with.
    expect(room).to_contain_text("Room for about 1,600 more photographs")
    expect(room.get_by_role("alert")).to_have_count(0)

    [content] = field_work.photograph(page, 1)
    size = content["size_bytes"]
    fill(page, left=25 * size)
    expect(room).to_contain_text("Room for about 25 more photographs")
    expect(room.get_by_role("alert")).to_have_count(0)

    fill(page, left=12 * size)
    expect(room.get_by_role("alert")).to_contain_text("Room for about 12 more photographs")
    expect(room.get_by_role("alert")).to_contain_text("free the originals")

    # And where the next photograph would be taken.
    tablet.start_visit(page, "bench")
    tablet.find_and_examine(page, "SM.2")
    tablet.field(page, "light:normal").click()
    slot = page.locator("li.light-slot").filter(has=tablet.field(page, "light:normal"))
    expect(slot.get_by_role("alert")).to_contain_text("Room for about 12 more photographs")
    slot.get_by_role("link", name="Make room").click()
    expect(page.get_by_role("heading", name="Sync", exact=True)).to_be_visible()


def test_it_says_how_to_make_the_browser_keep_the_records(
    small_server: Server, open_browser: Opener
) -> None:
    page = opened(small_server, open_browser)
    page.evaluate("location.hash = '#/sync'")
    main = page.get_by_role("main")
    expect(main).to_contain_text("has not promised to keep this app's records")
    expect(main).to_contain_text("“Add to Home Screen”")
    expect(main).to_contain_text("“Install app”")

    page.evaluate("navigator.storage.persist = async () => true")
    page.get_by_role("button", name="Ask the browser again").click()
    expect(main).to_contain_text("has promised to keep this app's records")
    expect(main).not_to_contain_text("“Add to Home Screen”")


def test_sent_originals_are_freed_without_ever_being_written_a_second_time(
    small_server: Server, open_browser: Opener
) -> None:
    page = opened(small_server, open_browser)
    page.evaluate("location.hash = '#/sync'")
    field_work.photograph(page, 2, 3)
    field_work.wait_until_sent(page)

    # On the way there each file was written once: a full tablet has no room for a copy.
    assert page.evaluate("window.filesWritten") == 2
    page.get_by_role("button", name="drop sent originals").click()
    expect(page.get_by_text("given back. The thumbnails stay here.")).to_be_visible()
    left = page.evaluate(
        "import('/field/store/database.js').then(async ({ db }) =>"
        " (await db.originals.toArray()).filter((one) => one.blob).length)"
    )
    assert left == 0
    assert (
        page.evaluate("import('/field/store/database.js').then(({ db }) => db.thumbnails.count())")
        == 2
    )
