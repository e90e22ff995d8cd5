"""The way out when sending does not work: all unsent work in one file, taken in by hand."""

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

import bagit
from playwright.sync_api import Page, expect

from tests.browser import field_work, museum
from tests.browser.conftest import Opener
from tests.browser.server import Server, manage

# One change that the server has refused, and one of somebody who is not signed in.
MORE_WORK = """
async () => {
  const { db } = await import("/field/store/database.js");
  const first = await db.outbox.orderBy("order").first();
  await db.outbox.update(first.order, { state: "refused", reasons: { name: "Too short." } });
  const { order, ...like } = first;
  await db.outbox.add({
    ...like, id: crypto.randomUUID(), entity_id: crypto.randomUUID(),
    person: "2", person_name: "Osric Fenwick-Hay", state: "waiting",
    at: "1700000000000-0000-018f3b6e-0000-7000-8000-000000000002",
  });
}
"""
OUTBOX = """
async () => {
  const { db } = await import("/field/store/database.js");
  return db.outbox.orderBy("order").toArray();
}
"""


def saved_file(page: Page, folder: Path) -> Path:
    """One tap, and where the browser then has the file."""
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name="Save unsent work to a file").click()
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    return path


def unpacked(path: Path, folder: Path) -> Path:
    """The one folder in the file."""
    with zipfile.ZipFile(path) as archive:
        assert {entry.compress_type for entry in archive.infolist()} == {zipfile.ZIP_STORED}
        assert archive.testzip() is None
        archive.extractall(folder)
    return folder / path.stem


def test_all_unsent_work_is_in_a_valid_bag_without_a_network_or_a_sign_in(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    browser = open_browser(accept_downloads=True)
    page = field_work.signed_in(browser, small_server.address)
    browser.set_offline(True)
    small_server.stop()
    contents = field_work.photograph(page, 1, 2, 2)
    page.evaluate(MORE_WORK)
    waiting: list[dict[str, Any]] = page.evaluate(OUTBOX)
    page.evaluate("import('/field/store/session.js').then(({ signOut }) => signOut())")
    page.evaluate("location.hash = '#/sign-in'")
    page.get_by_role("link", name="Save unsent work to a file").click()
    expect(page.get_by_text("whoever looks after the Fieldleaf server")).to_be_visible()
    expect(page.get_by_text("sending it later does no harm")).to_be_visible()

    folder = unpacked(saved_file(page, tmp_path), tmp_path / "unpacked")

    bag = bagit.Bag(str(folder))
    bag.validate()
    work = json.loads((folder / "data/work.json").read_text())
    assert (work["format"], work["version"]) == ("fieldleaf-unsent-work", 1)
    assert work["changes"] == waiting
    assert {change["state"] for change in waiting} == {"waiting", "refused"}
    assert work["people"]["2"] == "Osric Fenwick-Hay"
    assert work["devices"]["2"] == "018f3b6e-0000-7000-8000-000000000002"
    wanted = {content["sha256"]: content["size_bytes"] for content in contents}
    assert {each["sha256"]: each["size_bytes"] for each in work["photographs"]} == wanted
    assert sorted(len(each["records"]) for each in work["photographs"]) == [1, 2]
    for sha256, size in wanted.items():
        content = (folder / "data/photographs" / sha256).read_bytes()
        assert (len(content), hashlib.sha256(content).hexdigest()) == (size, sha256)


def test_what_was_taken_in_by_hand_is_there_once_after_the_tablet_sends_it_too(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    browser = open_browser(accept_downloads=True)
    page = field_work.signed_in(browser, small_server.address)
    browser.set_offline(True)
    contents = field_work.photograph(page, 3, 4)
    field_work.begin_visit(page, "Taken in by hand")
    page.evaluate("location.hash = '#/sync'")
    path = saved_file(page, tmp_path)
    assert field_work.visits(small_server, "Taken in by hand") == 0

    manage(small_server.data, "ingest", str(path))
    assert field_work.visits(small_server, "Taken in by hand") == 1
    assert all(field_work.is_stored(small_server, content) for content in contents)
    taken_in = everything(small_server)

    browser.set_offline(False)
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=90_000)
    assert everything(small_server) == taken_in
    assert page.evaluate(OUTBOX) == []


def everything(server: Server) -> dict[str, Any]:
    """The keys of all that the work has made on the server."""
    tables = ["sync_change", "examination_visit", "examination_examination"]
    tables += ["examination_photograph"]
    found = {
        table: museum.read(server.data, f"SELECT id FROM {table} ORDER BY id") for table in tables
    }
    return {**found, "files": museum.read(server.data, "SELECT sha256 FROM sync_storedfile")}
