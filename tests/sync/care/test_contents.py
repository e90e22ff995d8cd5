"""Every content is hashed again: one that is not what it was is told, and nothing else is."""

import hashlib
from pathlib import Path

import pytest

from survey.sync import files
from survey.sync.care import contents
from tests.factories import PhotographFactory
from tests.sync.care.pictures import picture
from tests.tablets import WireTablet

PICTURE = picture()
SHA256 = hashlib.sha256(PICTURE).hexdigest()


def faults() -> list[str]:
    return list(contents.faults(contents.sizes(), lambda size_bytes: None))


@pytest.fixture
def stored(db: None) -> Path:
    """A photograph that a tablet sent."""
    assert WireTablet().upload(PICTURE).status_code == 204
    assert faults() == []
    return files.stored_path(SHA256)


def test_it_finds_a_flipped_bit_and_names_the_sheet(stored: Path) -> None:
    shown = PhotographFactory(sha256=SHA256, light="raking", azimuth_deg=90)
    content = bytearray(stored.read_bytes())
    content[40] ^= 1
    stored.write_bytes(content)
    [fault] = faults()
    assert "is altered: its" in fault and "are not those that were stored" in fault
    number = shown.examination.object.accession_number
    assert f"(raking light, recto, of {number}, examined" in fault


def test_it_finds_a_photograph_cut_short(stored: Path) -> None:
    stored.write_bytes(PICTURE[:-1])
    [fault] = faults()
    assert f"it has {len(PICTURE) - 1:,} bytes and had {len(PICTURE):,}" in fault


def test_it_finds_a_missing_photograph(stored: Path) -> None:
    stored.unlink()
    [fault] = faults()
    assert "is missing" in fault


def test_it_finds_a_file_that_is_nobodys(stored: Path) -> None:
    (stored.parent / "notes.txt").write_text("left here")
    stranger = stored.parent / ("0" * 64)
    stranger.write_text("not what its name says")
    assert len(faults()) == 2


def test_a_whole_content_not_yet_noted_is_no_fault(stored: Path) -> None:
    # The server was stopped between moving the file and noting it.
    digest = hashlib.sha256(b"whole").hexdigest()
    path = files.stored_path(digest)
    path.parent.mkdir(parents=True)
    path.write_bytes(b"whole")
    assert faults() == []


def test_previews_are_left_alone(stored: Path) -> None:
    preview = files.stored_path(SHA256).parents[2] / "previews" / "ab" / "preview.jpg"
    preview.parent.mkdir(parents=True)
    preview.write_bytes(b"made anew when it is wanted")
    assert faults() == []
