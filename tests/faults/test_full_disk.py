"""A server whose disk is really full, to the last byte, and a tablet that sends to it."""

import shutil
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect

from tests.browser import museum
from tests.faults.bench import Bench
from tests.faults.processes import kill_tree
from tests.faults.small_disk import SmallDisk


def count_changes(data: Path, room: Path) -> int:
    """Counted in a copy, where there is room: even to read, SQLite makes a file beside its own."""
    room.mkdir()
    for file in data.glob("fieldleaf.sqlite3*"):
        shutil.copy(file, room)
    [(count,)] = museum.read(room, "SELECT count(*) FROM sync_change")
    return int(count)


def test_the_tablet_says_that_the_server_is_full_and_sends_once_there_is_room(
    make_bench: Callable[..., Bench], small_disk: SmallDisk, tmp_path: Path
) -> None:
    bench = make_bench(seed=5)
    bench.server.data = Path(shutil.move(bench.server.data, small_disk.folder / "data"))
    bench.begin()
    examiner, page = bench.examiner, bench.examiner.page
    small_disk.fill()
    for do in (examiner.type_notes, examiner.photograph, examiner.tick_a_term):
        do()
    changes = count_changes(bench.server.data, tmp_path / "before")
    page.evaluate("location.hash = '#/sync'")
    expect(page.get_by_role("main")).to_contain_text("The server has no room left")
    expect(page.locator(".sync-line")).to_contain_text("1 photograph")
    assert count_changes(bench.server.data, tmp_path / "after") == changes

    small_disk.make_room()
    bench.count()
    assert bench.ledger.told == []


def test_a_server_that_was_killed_on_a_full_disk_starts_again_and_goes_on(
    make_bench: Callable[..., Bench], small_disk: SmallDisk
) -> None:
    bench = make_bench(seed=6)
    bench.server.data = Path(shutil.move(bench.server.data, small_disk.folder / "data"))
    bench.begin()
    small_disk.fill()
    bench.examiner.photograph()
    bench.examiner.type_notes()
    assert bench.server.process
    kill_tree(bench.server.process.pid)
    bench.server.process.wait()
    small_disk.make_room()
    bench.server.start()
    bench.count()
    assert bench.ledger.told == []
