"""There and back: every row and byte, on SQLite and on PostgreSQL, and what tablets then do."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.browser.server import Server
from tests.sync.care.server import Kept

FILL = """
tablet = WireTablet(DeviceFactory(token="slate", person=PersonFactory(username="robin")))
visit = tablet.made("visit", purpose="storage-round", name="Round")
for shade in (10, 20, 30):
    assert tablet.upload(picture(shade)).status_code == 204
"""


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """A data folder with a person, a tablet, a visit and three photographs, and a copy of it."""
    folder = tmp_path_factory.mktemp("filled")
    kept = Kept(folder / "data")
    assert kept.manage("migrate").code == 0
    kept.python(FILL)
    assert kept.manage("backup", folder / "copies").code == 0
    return kept


@pytest.fixture
def server(filled: Kept, tmp_path: Path) -> Kept:
    shutil.copytree(filled.data, tmp_path / "data")
    return Kept(tmp_path / "data")


@pytest.fixture
def copy(filled: Kept) -> Path:
    return next((filled.data.parent / "copies").glob("fieldleaf-*"))


def rows(server: Kept) -> dict[str, list[Any]]:
    """Every row of every table, but for what restoring itself adds."""
    with closing(sqlite3.connect(server.data / "fieldleaf.sqlite3")) as database:
        tables = database.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        added = {"sync_restoration", "access_auditentry", "sync_counter", "sqlite_sequence"}
        return {
            name: sorted(database.execute(f'SELECT * FROM "{name}"').fetchall(), key=repr)
            for (name,) in tables
            if name not in added
        }


def flip(path: Path) -> bytes:
    """Alter a byte of a file; what it was before."""
    whole = path.read_bytes()
    path.write_bytes(whole[:40] + bytes([whole[40] ^ 1]) + whole[41:])
    return whole


STILL_SIGNED_IN = """
tablet = WireTablet(Device.objects.get())
print(len(tablet.pull()))
tablet.made("visit", purpose="bench", name="Bench")
"""


def test_all_comes_back_on_a_new_machine(server: Kept, copy: Path, tmp_path: Path) -> None:
    new = Kept(tmp_path / "new")
    ran = new.manage("restore", copy)
    assert ran.code == 0, ran.told
    assert "3 photographs were put back" in ran.said
    assert rows(new) == rows(server)
    assert new.photographs() == server.photographs() and len(new.photographs()) == 3
    assert not list(new.data.glob("before-restore-*"))
    # The tablet that was signed in goes on with the new machine.
    assert new.python(STILL_SIGNED_IN) == "1\n"
    ran = new.manage("verify")
    assert ran.code == 0, ran.told


def test_a_server_is_copied_while_it_runs(server: Kept, tmp_path: Path) -> None:
    running = Server(server.data)
    running.start()
    try:
        ran = server.manage("backup", tmp_path / "copies")
    finally:
        running.stop()
    assert ran.code == 0, ran.told
    assert "the database and 3 photographs, all read back" in ran.said


def test_what_is_there_is_set_aside_and_later_photographs_stay(server: Kept, copy: Path) -> None:
    server.python(
        "tablet = WireTablet(Device.objects.get())\n"
        'tablet.made("visit", purpose="bench", name="Later")\n'
        "assert tablet.upload(picture(40)).status_code == 204"
    )
    altered = next(copy.glob("data/photographs/??/??/*")).name
    path = server.data / "photographs" / altered[:2] / altered[2:4] / altered
    whole = flip(path)

    ran = server.manage("restore", copy, "--replace")

    assert ran.code == 0, ran.told
    assert "1 photographs were put back, and 1 that came later were kept" in ran.said
    assert len(rows(server)["examination_visit"]) == 1
    [aside] = server.data.glob("before-restore-*")
    assert str(aside) in ran.said
    with closing(sqlite3.connect(aside / "fieldleaf.sqlite3")) as database:
        assert database.execute("SELECT count(*) FROM examination_visit").fetchone() == (2,)
    assert path.read_bytes() == whole
    assert (aside / "photographs" / altered).read_bytes() != whole
    assert len(server.photographs()) == 4
    ran = server.manage("verify")
    assert ran.code == 0 and "4 photographs agree" in ran.said, ran.told


def test_a_broken_database_is_set_aside_for_the_copy_of_it(server: Kept, copy: Path) -> None:
    broken = b"this is no database " * 400
    (server.data / "fieldleaf.sqlite3").write_bytes(broken)
    ran = server.manage("restore", copy, "--replace")
    assert ran.code == 0, ran.told
    [aside] = server.data.glob("before-restore-*/fieldleaf.sqlite3")
    assert aside.read_bytes() == broken
    assert len(rows(server)["examination_visit"]) == 1


def test_it_alters_nothing_while_somebody_has_the_database_open(server: Kept, copy: Path) -> None:
    with closing(sqlite3.connect(server.data / "fieldleaf.sqlite3")) as busy:
        busy.execute("BEGIN IMMEDIATE")
        ran = server.manage("restore", copy, "--replace")
    assert ran.code == 1
    assert "The database is in use: stop the server, then restore." in ran.told
    assert not list(server.data.glob("*.incoming"))


AFTER = """
tablet = WireTablet(Device.objects.get())
first = Visit.objects.get(name="Round").pk
for number in range(3):
    tablet.push("visit", first, base=1, note=str(number))
cursor = tablet.get("/api/sync/pull?cursor=0").json()["cursor"]
print(cursor)
"""
BEGUN_ANEW = """
tablet = WireTablet(Device.objects.get())
other = WireTablet(DeviceFactory(token="other"), "other")
first = Visit.objects.get(name="Round").pk
for number in range(9):
    other.push("visit", first, base={cursor}, note="other " + str(number))
page = tablet.get("/api/sync/pull?cursor={cursor}").json()
print([row["fields"]["note"] for row in page["rows"]], page["cursor"] > 10**12)
# What it says, having seen only what is lost, overwrites nothing that others said since.
print(tablet.push("visit", first, base={cursor}, note="mine")["outcome"])
again = tablet.get("/api/sync/pull?cursor=" + str(page["cursor"])).json()
print(len(again["rows"]))
"""


def test_a_tablet_that_had_seen_more_than_the_copy_begins_anew(server: Kept, copy: Path) -> None:
    cursor = int(server.python(AFTER))
    assert cursor == 4
    assert server.manage("restore", copy, "--replace").code == 0
    # Others have sent more meanwhile than was lost, so the numbers alone would tell nothing.
    said = server.python(BEGUN_ANEW.format(cursor=cursor))
    assert said == "['other 8'] True\nquestion\n1\n"
    assert server.manage("verify").code == 0
