"""What WebKit keeps of unsent work when the page or the whole browser goes, and how it gets out."""

import hashlib
import os
import signal
from collections.abc import Iterator
from pathlib import Path
from zipfile import is_zipfile

import pytest

from tests.browser import frozen, museum, small_museum
from tests.browser.server import Server, manage
from tests.browser.tablet import shot
from tests.browser.webkit import tablet
from tests.browser.webkit.conftest import Opener

TYPED = "Foxed along the foot, whe"
NOTES = "examinations.toArray().then((all) => all.map(({ notes }) => notes))"
[NUMBER, *_] = small_museum.NUMBERS


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """One with three sheets, which a tablet carries at once, and nothing to decide."""
    server = Server(tmp_path / "data")
    frozen.give_museum(server, {})
    museum.write(server.data, "DELETE FROM sync_openquestion")
    server.start()
    yield server
    server.stop()


def test_unsent_work_outlives_a_killed_browser_and_leaves_in_a_file(
    open_webkit: Opener, server: Server, tmp_path: Path
) -> None:
    photograph = tmp_path / "shot.jpg"
    photograph.write_bytes(shot(1))
    sha256 = hashlib.sha256(photograph.read_bytes()).hexdigest()
    browser = open_webkit()
    tablet.open_app(browser, server)
    tablet.sign_in(browser, small_museum.CONSERVATOR, small_museum.PASSWORD)
    tablet.wait_until_carried(browser, len(small_museum.NUMBERS))
    server.stop()
    tablet.start_visit(browser, "storage-round")
    tablet.find_and_examine(browser, NUMBER)
    tablet.photograph_by(browser, "normal", photograph)
    tablet.field(browser, "examination:notes").send_keys(TYPED)
    # A letter is kept when its write is done, a moment after it was typed.
    tablet.wait(browser, lambda: TYPED in tablet.held(browser, NOTES))

    def is_all_here() -> None:
        notes = tablet.field(browser, "examination:notes")
        assert notes.get_property("value") == TYPED
        tablet.wait(browser, lambda: browser.switch_to.active_element == notes)
        tablet.shown(browser, "li.light-slot .shot img")
        assert tablet.held_file(browser, sha256) == photograph.read_bytes()

    browser.refresh()
    is_all_here()
    os.killpg(int((tmp_path / "webkit" / "process").read_text()), signal.SIGKILL)
    browser = open_webkit()
    tablet.open_again(browser, server)
    is_all_here()

    # Sending does not work, so the work leaves in a file; sending it later does nothing twice.
    tablet.go_to(browser, "#/unsent")
    tablet.tap_words(browser, "Save unsent work to a file")
    tablet.wait_for_words(browser, "main", "is ready")
    # It is there before all of it is written.
    [saved] = tablet.wait(
        browser,
        lambda: [*filter(is_zipfile, (tmp_path / "webkit").glob("fieldleaf-unsent-*.zip"))],
    )
    manage(server.data, "ingest", str(saved))
    for _ in range(2):
        assert museum.read(
            server.data,
            """SELECT e.notes FROM examination_examination e
               JOIN catalogue_object o ON o.id = e.object_id WHERE o.accession_number = ?""",
            NUMBER,
        ) == [(TYPED,)]
        assert museum.read(server.data, "SELECT sha256 FROM examination_photograph") == [(sha256,)]
        assert museum.stored_bytes(server.data, sha256) == photograph.read_bytes()
        if server.process is None:
            server.start()
            tablet.send_all(browser)
