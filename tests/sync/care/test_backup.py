"""Each copy is whole and stands by itself; what is not finished is never taken for one."""

import errno
import io
import os
import shutil
from pathlib import Path
from typing import Any

import bagit
import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from survey.access.models import Device
from survey.sync import files
from survey.sync.care import backup as module
from survey.sync.care import contents
from tests.sync.care.pictures import picture
from tests.tablets import WireTablet

pytestmark = [
    # SQLite copies no database that its own connection is writing to.
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="see test_restore_postgresql"),
]


@pytest.fixture
def tablet() -> WireTablet:
    """One that made a visit and sent three photographs."""
    tablet = WireTablet()
    tablet.made("visit", purpose="storage-round", name="Round")
    for shade in (10, 20, 30):
        send(tablet, shade)
    return tablet


def send(tablet: WireTablet, shade: int) -> None:
    assert tablet.upload(picture(shade)).status_code == 204


@pytest.fixture
def place(tablet: WireTablet, tmp_path: Path) -> Path:
    return tmp_path / "copies"


def run(*arguments: Any) -> tuple[str, str]:
    """What the command says: of what went well, and of what did not."""
    said, told = io.StringIO(), io.StringIO()
    try:
        call_command(*map(str, arguments), stdout=said, stderr=told)
    except CommandError as error:
        told.write(str(error))
    return said.getvalue(), told.getvalue()


def copies(place: Path) -> list[Path]:
    return sorted(place.glob("fieldleaf-*"))


def backed_up(place: Path) -> Path:
    """A new copy; told at an earlier second than the next one."""
    _said, told = run("backup", place)
    assert told == ""
    new = copies(place)[-1]
    return new.rename(new.with_name(f"fieldleaf-2026-01-0{len(copies(place))}T000000Z"))


def shots(copy: Path) -> list[Path]:
    return sorted(copy.glob("data/photographs/??/??/*"))


def originals() -> list[Path]:
    return [files.stored_path(sha256) for sha256 in sorted(contents.sizes())]


def flip(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def test_a_copy_is_a_bag_that_any_tool_of_the_standard_finds_whole(place: Path) -> None:
    bag = bagit.Bag(str(backed_up(place)))
    bag.validate()
    assert len(bag.payload_entries()) == 5
    assert bag.version_info == (1, 0)


def test_the_second_copy_writes_only_what_is_new(tablet: WireTablet, place: Path) -> None:
    first = backed_up(place)
    send(tablet, 40)
    said, told = run("backup", place)
    assert told == ""
    assert "4 photographs, all read back. New at this place: 1 photograph," in said
    second = copies(place)[-1]
    assert len(shots(first)) == 3
    for path in shots(first):
        assert path.samefile(second / path.relative_to(first))
    bagit.Bag(str(first)).validate()
    bagit.Bag(str(second)).validate()


def test_without_hard_links_every_copy_is_written_in_full(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*paths: Any) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    first = backed_up(place)
    monkeypatch.setattr(os, "link", refuse)
    said, _told = run("backup", place)
    assert "New at this place: 3 photographs" in said
    shutil.rmtree(first)
    bagit.Bag(str(copies(place)[0])).validate()


def test_a_photograph_that_rotted_in_the_earlier_copy_is_copied_again(place: Path) -> None:
    flip(shots(backed_up(place))[0])
    said, told = run("backup", place)
    assert told == "" and "New at this place: 1 photograph," in said
    bagit.Bag(str(copies(place)[-1])).validate()


def test_photographs_not_whole_on_the_server_are_told_and_kept_as_they_are(place: Path) -> None:
    first, second, _third = originals()
    flip(first)
    second.unlink()
    _said, told = run("backup", place)
    assert f"{first.name[:16]}… is altered on the server" in told
    assert f"{second.name[:16]}… is missing on the server" in told
    assert "The copy was made, but not whole on the server: 2 photographs" in told
    bagit.Bag(str(copies(place)[0])).validate()
    assert first.read_bytes() in [path.read_bytes() for path in shots(copies(place)[0])]


def test_a_backup_that_was_killed_is_never_taken_for_one(place: Path) -> None:
    # As it stands just before its last step, with what a copying that was cut off leaves.
    unfinished = place / "unfinished"
    backed_up(place).rename(unfinished)
    (unfinished / "tagmanifest-sha256.txt").unlink()
    (unfinished / "data" / "left.partial").write_text("half")
    flip(shots(unfinished)[0])

    assert "is not a copy made by" in run("restore", place, "--check")[1]
    copy = backed_up(place)

    assert not unfinished.exists()
    bagit.Bag(str(copy)).validate()


def test_a_full_disk_leaves_the_earlier_copy_whole_and_the_next_run_goes_on(
    tablet: WireTablet, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    earlier = backed_up(place)
    for shade in (40, 50, 60):
        send(tablet, shade)
    real, copied = shutil.copyfile, []

    def until_full(source: Path, target: Path) -> Any:
        copied.append(target)
        if len(copied) > 1:
            target.write_bytes(b"half")
            raise OSError(errno.ENOSPC, "No space left on device", str(target))
        return real(source, target)

    with monkeypatch.context() as full:
        full.setattr(shutil, "copyfile", until_full)
        _said, told = run("backup", place)
    assert f"The disk of {place} is full. No copy was made; earlier ones are untouched." in told
    assert copies(place) == [earlier]
    bagit.Bag(str(earlier)).validate()
    assert len(bagit.Bag(str(backed_up(place))).payload_entries()) == 8


def test_two_backups_to_one_place_do_not_meet(place: Path) -> None:
    place.mkdir()
    with module._alone(place):
        _said, told = run("backup", place)
    assert "Another backup" in told and copies(place) == []


def rot(copy: Path) -> None:
    flip(shots(copy)[0])


def lose(copy: Path) -> None:
    shots(copy)[0].unlink()


def rot_database(copy: Path) -> None:
    flip(copy / "data" / "fieldleaf.sqlite3")


def break_database(copy: Path) -> None:
    """Damaged before it was copied, so that the manifest agrees."""
    path = copy / "data" / "fieldleaf.sqlite3"
    content = path.read_bytes()
    # Its second page, which is of a table whatever the schema.
    path.write_bytes(content[:4096] + bytes(4096) + content[8192:])
    bagit.Bag(str(copy)).save(manifests=True)


def add(copy: Path) -> None:
    (copy / "data" / "added.txt").write_text("not in the manifest")


def unseal(copy: Path) -> None:
    flip(copy / "manifest-sha256.txt")


def newer(copy: Path) -> None:
    _rewritten(copy, '"sync",', '"sync9",')


def other_database(copy: Path) -> None:
    _rewritten(copy, '"database": "sqlite"', '"database": "postgresql"')


def no_copy(copy: Path) -> None:
    _rewritten(copy, "fieldleaf-backup", "something-else")


def _rewritten(copy: Path, old: str, new: str) -> None:
    path = copy / "data" / "about.json"
    path.write_text(path.read_text().replace(old, new))
    bagit.Bag(str(copy)).save(manifests=True)


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (rot, "is damaged: its bytes are not those that were saved"),
        (lose, "is missing"),
        (rot_database, "data/fieldleaf.sqlite3 is damaged"),
        (break_database, "is not whole"),
        (add, "data/added.txt is in the folder, but in no manifest"),
        (unseal, "manifest-sha256.txt is damaged"),
        (newer, "is of a newer Fieldleaf (sync9 0001_initial)"),
        (other_database, "is of a PostgreSQL database, and this server uses SQLite"),
        (no_copy, "is a BagIt bag, but not a copy of a server"),
    ],
)
def test_a_copy_that_is_not_whole_or_not_for_this_server_alters_nothing(
    place: Path, spoil: Any, sentence: str
) -> None:
    copy = backed_up(place)
    assert "The copy is whole." in run("restore", copy, "--check")[0]
    spoil(copy)
    before = [path.read_bytes() for path in originals()]
    _said, told = run("restore", copy, "--replace")
    assert sentence in told
    assert [path.read_bytes() for path in originals()] == before
    assert Device.objects.exists()


def test_it_says_which_copies_there_are_when_none_is_named(place: Path) -> None:
    copy = backed_up(place)
    assert f"holds 1 copies. Name one of them; the latest is {copy}" in run("restore", place)[1]
    assert "is not a copy made by" in run("restore", place / "elsewhere")[1]


def test_it_does_not_replace_what_is_there_unless_told(place: Path) -> None:
    assert "Add --replace to set them aside" in run("restore", backed_up(place))[1]
