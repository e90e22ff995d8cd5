"""Reports in backups: kept, for one made before an amendment cannot be made again."""

from pathlib import Path

from tests.sync.care.server import Kept

# An examination that a tablet signed, its report, and where that lies.
FILL = """
from django.conf import settings
settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
from survey.reports.models import Report
from survey.reports.services import ask
from survey.sync.services import record_change
tablet = WireTablet(DeviceFactory(token="slate", person=PersonFactory(username="robin")))
person = Person.objects.get()
visit = tablet.made("visit", purpose="storage-round", name="Round")
fields = {"accession_number": "PE.2001.4", "title": "Reeds"}
item = record_change("object", None, fields, person)
key = tablet.made(
    "examination", visit=visit, object=str(item.pk), started_at="2026-03-03T10:00:00Z"
)
tablet.push("examination", key, signed_at="2026-03-03T11:00:00Z", signed_name="Robin")
ask("examination", Examination.objects.get(), person)
print(Report.objects.get().sha256)
"""
OPENED = """
from survey.reports.models import Report
from survey.sync.files import digest, stored_path
report = Report.objects.get()
print(report.state, digest(stored_path(report.sha256)) == report.sha256)
"""


def test_a_report_is_in_the_copy_comes_back_and_is_verified(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "data")
    assert kept.manage("migrate").code == 0
    sha256 = kept.python(FILL).strip()
    ran = kept.manage("backup", tmp_path / "copies")
    assert ran.code == 0, ran.told

    new = Kept(tmp_path / "new")
    [copy] = (tmp_path / "copies").glob("fieldleaf-*")
    ran = new.manage("restore", copy)
    assert ran.code == 0, ran.told
    assert new.python(OPENED) == "done True\n"

    path = new.data / "photographs" / sha256[:2] / sha256[2:4] / sha256
    path.write_bytes(path.read_bytes()[:-1])
    told = new.manage("verify").told
    assert told.count("\n") == 2  # The one fault, and how many there are.
    assert f"Document {sha256[:16]}… (report of PE.2001.4, examined 3 March 2026" in told
    assert "is altered" in told
