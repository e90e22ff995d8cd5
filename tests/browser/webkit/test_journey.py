"""The main job in a second browser engine, which many tablets run."""

import hashlib
from pathlib import Path

from tests.browser import museum
from tests.browser.server import Server
from tests.browser.tablet import CONSERVATOR, shot
from tests.browser.webkit import tablet
from tests.browser.webkit.conftest import Opener


def test_it_opens_examines_and_photographs_offline_and_sends(
    open_webkit: Opener, server: Server, tmp_path: Path
) -> None:
    [number] = museum.unexamined_objects(server.data, 1)
    photographs = {light: tmp_path / f"{light}.jpg" for light in ("normal", "raking")}
    for seed, file in enumerate(photographs.values()):
        file.write_bytes(shot(seed))

    browser = open_webkit()
    tablet.open_app(browser, server)
    tablet.sign_in(browser, *CONSERVATOR)
    tablet.wait_until_carried(browser, 2000)

    # The server goes, and the app is opened cold.
    browser.quit()
    server.stop()
    browser = open_webkit()
    tablet.open_app(browser, server)
    tablet.wait_for_words(browser, "h1", "My visits")

    tablet.start_visit(browser, "storage-round")
    tablet.find_and_examine(browser, number)
    tablet.tap(browser, '[data-field="place:yes"]')
    for light, file in photographs.items():
        tablet.photograph_by(browser, light, file)
    tablet.tick(browser, "tear", "tear")
    tablet.say_of_observation(browser, "severity", "severe")
    tablet.say_of_observation(browser, "extent", "several")
    tablet.choose(browser, "grade", "poor")
    tablet.field(browser, "examination:notes").send_keys("Torn from the left edge.")
    tablet.sign(browser)
    tablet.wait_for_words(browser, "main", "Torn from the left edge.")
    tablet.wait_for_words(browser, ".sync-line", "Waiting to send")

    server.start()
    tablet.send_all(browser)

    [(notes, grade, signed_at)] = museum.read(
        server.data,
        """SELECT e.notes, e.grade, e.signed_at FROM examination_examination e
           JOIN catalogue_object o ON o.id = e.object_id WHERE o.accession_number = ?""",
        number,
    )
    assert (notes, grade) == ("Torn from the left edge.", "poor")
    assert signed_at
    assert museum.read(
        server.data,
        """SELECT b.term_id, b.severity, b.extent FROM examination_observation b
           JOIN examination_examination e ON e.id = b.examination_id
           JOIN catalogue_object o ON o.id = e.object_id WHERE o.accession_number = ?""",
        number,
    ) == [("tear", "severe", "several")]
    for file in photographs.values():
        sent = file.read_bytes()
        assert museum.stored_bytes(server.data, hashlib.sha256(sent).hexdigest()) == sent
