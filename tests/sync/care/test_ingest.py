"""What a tablet saved to a file comes in whole, once, and each thing that cannot is told."""

import hashlib
import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from survey.access.models import AuditEntry
from survey.examination.models import Visit
from survey.ids import new_id
from survey.sync import files
from survey.sync.care import unpacking
from survey.sync.models import Change, OpenQuestion, StoredFile
from tests.factories import DeviceFactory
from tests.sync.care.pictures import picture
from tests.sync.care.unsent import bag, files_of, saved, work, zipped
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def ingest(path: Path) -> tuple[str, str]:
    """What the command says: of what went well, and of each thing that did not."""
    said, told = io.StringIO(), io.StringIO()
    try:
        call_command("ingest", str(path), stdout=said, stderr=told)
    except CommandError as error:
        told.write(str(error))
    return said.getvalue(), told.getvalue()


@pytest.fixture
def tablet() -> WireTablet:
    return WireTablet()


def kept(tablet: WireTablet, entity: str, key: Any = None, **fields: Any) -> dict[str, Any]:
    """A change as it lies in the tablet's outbox."""
    return {
        **tablet.change(entity, key or new_id(), fields, 0),
        "person": str(tablet.device.person.pk),
        "person_name": tablet.device.person.name,
        "order": 1,
        "state": "waiting",
        "tried": False,
        "reasons": {},
    }


def visit(tablet: WireTablet, key: Any = None, name: str = "Round") -> dict[str, Any]:
    return kept(tablet, "visit", key, purpose="storage-round", name=name)


def test_it_takes_in_changes_and_photographs_once(tablet: WireTablet, tmp_path: Path) -> None:
    change, shot = visit(tablet), picture()
    path = saved(tmp_path / "unsent.zip", [change], [shot])

    said, told = ingest(path)

    assert told == ""
    assert "Photographs: 1 taken in, 0 were here already." in said
    assert "Changes: 1 taken in, 0 were here already." in said
    assert Visit.objects.get().person == tablet.device.person
    taken = Change.objects.get()
    assert (str(taken.pk), taken.device) == (change["id"], tablet.device)
    sha256 = hashlib.sha256(shot).hexdigest()
    assert files.stored_path(sha256).read_bytes() == shot
    assert AuditEntry.objects.get(action="unsent work taken in").subject == "unsent.zip"

    said, told = ingest(path)
    assert told == ""
    assert "Photographs: 0 taken in, 1 were here already." in said
    assert "Changes: 0 taken in, 1 were here already." in said
    assert (Change.objects.count(), StoredFile.objects.count()) == (1, 1)


def test_what_the_tablet_sends_afterwards_does_nothing(tablet: WireTablet, tmp_path: Path) -> None:
    change, shot = visit(tablet), picture()
    ingest(saved(tmp_path / "unsent.zip", [change], [shot]))
    wire = {name: change[name] for name in ("id", "entity", "entity_id", "fields", "base", "at")}
    [result] = tablet.push_all(wire)
    assert (result["outcome"], result["number"]) == ("applied", 1)
    assert tablet.upload(shot).status_code == 204
    assert (Change.objects.count(), StoredFile.objects.count()) == (1, 1)


def test_it_takes_what_was_half_sent_before(tablet: WireTablet, tmp_path: Path) -> None:
    key = new_id()
    first, second = visit(tablet, key), kept(tablet, "visit", key, note="Damp")
    wire = {name: first[name] for name in ("id", "entity", "entity_id", "fields", "base", "at")}
    tablet.push_all(wire)
    said, told = ingest(saved(tmp_path / "unsent.zip", [first, second]))
    assert told == ""
    assert "Changes: 1 taken in, 1 were here already." in said
    assert Visit.objects.get().note == "Damp"


def test_changes_of_two_people_keep_their_authors(tablet: WireTablet, tmp_path: Path) -> None:
    other = WireTablet(DeviceFactory(token="other"), "other")
    ingest(saved(tmp_path / "unsent.zip", [visit(tablet), visit(other)]))
    assert {one.person for one in Visit.objects.all()} == {
        tablet.device.person,
        other.device.person,
    }


def test_it_takes_more_changes_than_one_batch(tablet: WireTablet, tmp_path: Path) -> None:
    key = new_id()
    edits = [kept(tablet, "visit", key, note=str(number)) for number in range(510)]
    said, told = ingest(saved(tmp_path / "unsent.zip", [visit(tablet, key), *edits]))
    assert told == ""
    assert "Changes: 511 taken in" in said
    assert Visit.objects.get().note == "509"


def test_it_says_when_a_question_is_left_open(tablet: WireTablet, tmp_path: Path) -> None:
    key = new_id()
    other = WireTablet(DeviceFactory(token="other"), "other")
    other.push_all(other.change("visit", key, {"purpose": "bench", "name": "Bench"}, 0))
    other.push_all(other.change("visit", key, {"name": "Bench again"}, 1))
    said, _told = ingest(saved(tmp_path / "unsent.zip", [kept(tablet, "visit", key, name="Mine")]))
    assert "1 left a question open" in said
    assert OpenQuestion.objects.count() == 1


def test_a_refused_change_hinders_no_other(tablet: WireTablet, tmp_path: Path) -> None:
    bad = kept(tablet, "visit", purpose="picnic", name="Round")
    path = saved(tmp_path / "unsent.zip", [bad, visit(tablet)])
    said, told = ingest(path)
    assert "Changes: 1 taken in" in said
    assert f"Refused: visit {bad['entity_id']} by {tablet.device.person.name}" in told
    assert "“picnic” is not one of the choices" in told
    assert "Refused: 1 change." in told
    _said, told = ingest(path)
    assert f"Refused when it came before: visit {bad['entity_id']}" in told


def test_changes_that_nobody_here_made_hinder_no_other(tablet: WireTablet, tmp_path: Path) -> None:
    strange = {**visit(tablet), "person": "9999"}
    elsewhere = {**visit(tablet), "at": f"1772532672000-0000-{new_id()}"}
    broken = {**visit(tablet), "base": "lots"}
    anothers = DeviceFactory(token="other")
    borrowed = {**visit(tablet), "at": f"1772532672000-0000-{anothers.pk}"}
    said, told = ingest(
        saved(tmp_path / "unsent.zip", [strange, elsewhere, broken, borrowed, visit(tablet)])
    )
    assert "Changes: 1 taken in" in said
    assert "Change 1 of the file" in told and "whom this server does not know" in told
    assert "Change 2 of the file" in told and "never signed in to this server" in told
    assert "Change 3 of the file" in told and "base: A valid integer is required." in told
    assert "Change 4 of the file" in told
    assert "Not taken in: 4 parts of the file." in told


def test_a_damaged_photograph_hinders_nothing_else(tablet: WireTablet, tmp_path: Path) -> None:
    whole, damaged, absent = picture(10), picture(20), picture(30)
    contents = files_of(work([visit(tablet)], [whole, damaged, absent]), [whole, damaged, absent])
    for content in (damaged, absent):
        path = f"data/photographs/{hashlib.sha256(content).hexdigest()}"
        contents[path] = contents[path][:-1] + b"!"
    del contents[path]
    said, told = ingest(zipped(tmp_path / "unsent.zip", contents))
    assert "Photographs: 1 taken in" in said and "Changes: 1 taken in" in said
    assert f"{hashlib.sha256(damaged).hexdigest()[:16]}… is damaged" in told
    assert f"{hashlib.sha256(absent).hexdigest()[:16]}… is missing" in told
    assert told.count("It is still on the tablet.") == 2
    assert StoredFile.objects.get().sha256 == hashlib.sha256(whole).hexdigest()


def test_bytes_that_rotted_within_the_zip_are_told(tablet: WireTablet, tmp_path: Path) -> None:
    shot = picture()
    path = saved(tmp_path / "unsent.zip", [visit(tablet)], [shot])
    whole = path.read_bytes()
    place = whole.index(shot) + len(shot) // 2
    path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
    said, told = ingest(path)
    assert "is damaged" in told and told.count("It is still on the tablet.") == 1
    assert "Changes: 1 taken in" in said


def test_a_file_that_is_no_picture_is_told(tablet: WireTablet, tmp_path: Path) -> None:
    said, told = ingest(saved(tmp_path / "unsent.zip", [visit(tablet)], [b"words, no picture"]))
    assert "was not taken:" in told
    assert "Changes: 1 taken in" in said


@pytest.mark.parametrize("folder", ["", "renamed"])
def test_it_takes_the_bag_at_the_top_or_in_any_folder(
    tablet: WireTablet, tmp_path: Path, folder: str
) -> None:
    path = zipped(tmp_path / "unsent.zip", files_of(work([visit(tablet)], []), []), folder)
    assert "Changes: 1 taken in" in ingest(path)[0]


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-40])


def no_zip(path: Path) -> None:
    path.write_bytes(b"not a ZIP at all")


def another_zip(path: Path) -> None:
    zipped(path, {"holiday.txt": b"sun"}, "")


def another_bag(path: Path) -> None:
    zipped(path, bag({"data/holiday.txt": b"sun"}))


def newer(path: Path) -> None:
    zipped(path, files_of(work([], [], version=2), []))


def no_version(path: Path) -> None:
    zipped(path, files_of(work([], [], version=None), []))


def other_format(path: Path) -> None:
    zipped(path, files_of(work([], [], format="else"), []))


def no_list(path: Path) -> None:
    zipped(path, files_of({**work([], []), "changes": {"a": 1}}, []))


def broken_list(path: Path) -> None:
    zipped(path, bag({"data/work.json": b'{"format": '}))


def altered_list(path: Path) -> None:
    contents = files_of(work([], []), [])
    contents["data/work.json"] += b" "
    zipped(path, contents)


def altered_manifest(path: Path) -> None:
    contents = files_of(work([], []), [])
    contents["manifest-sha256.txt"] += b"\n"
    zipped(path, contents)


def a_way_out(path: Path) -> None:
    zipped(path, {**files_of(work([], []), []), "../../escaped.txt": b"out"})


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (cut_short, "is not a whole ZIP file"),
        (no_zip, "is not a whole ZIP file"),
        (another_zip, "It is not a whole BagIt bag"),
        (another_bag, "data/work.json is absent"),
        (newer, "a newer app saved it. Bring the server up to date"),
        (no_version, "does not say which version"),
        (other_format, "is not Fieldleaf’s list of unsent work"),
        (no_list, "has no list of changes"),
        (broken_list, "data/work.json cannot be read"),
        (altered_list, "data/work.json is damaged"),
        (altered_manifest, "manifest-sha256.txt is damaged"),
        (a_way_out, "a name that leads out of its folder"),
    ],
)
def test_a_file_that_is_not_whole_unsent_work_leaves_all_as_it_was(
    tablet: WireTablet, tmp_path: Path, spoil: Any, sentence: str
) -> None:
    path = saved(tmp_path / "unsent.zip", [visit(tablet)], [picture()])
    spoil(path)
    _said, told = ingest(path)
    assert told.startswith("Nothing was taken in. ") and sentence in told
    assert not Change.objects.exists() and not StoredFile.objects.exists()
    assert not list(tmp_path.rglob("escaped.txt"))


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in ingest(tmp_path / "none.zip")[1]


def test_a_zip_that_would_fill_the_disk_is_not_unpacked(
    tablet: WireTablet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "unsent.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files_of(work([visit(tablet)], []), []).items():
            archive.writestr(name, content)
        archive.writestr("data/photographs/bomb", bytes(50_000_000))
    monkeypatch.setattr(unpacking, "SPARE_BYTES", 10**18)
    _said, told = ingest(path)
    assert "Unpacked, this ZIP takes 50 MB" in told
    assert not Change.objects.exists()


def test_no_unpacked_file_stays_behind(tablet: WireTablet, tmp_path: Path, settings: Any) -> None:
    ingest(saved(tmp_path / "unsent.zip", [visit(tablet)], [picture()]))
    assert list(Path(settings.UPLOADS_DIR).iterdir()) == []
