"""What makes reports. ``ask`` puts one in the queue of the worker, which calls ``run``."""

import hashlib
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.examination.models import Examination
from survey.reading import work
from survey.reading.progress import Progress
from survey.reading.work import carry_out
from survey.reports import pdf, queries
from survey.reports.content import Content, content_of
from survey.reports.models import Report
from survey.reports.svg import svg_of
from survey.reports.trouble import CannotAsk, NotMade
from survey.sync import durable
from survey.sync.files import store

MADE_WITH = "Fieldleaf, report 1"
CONTENT_TYPE = "application/pdf"
# How often the record is read until it stood still meanwhile.
MOST_GATHERED = 3


def ask(examination: Examination, person: Person) -> Report:
    """Ask for a report of the record as it stands when it is made, in the background.

    Whoever may see the examination may ask. While one waits or is being made, it is that one
    that is given back. Raises CannotAsk with a sentence.
    """
    lacking = pdf.lacking()
    if lacking:
        raise CannotAsk(lacking)
    found = _open(examination)
    if found is not None:
        return found
    try:
        with transaction.atomic():
            report = Report.objects.create(examination=examination, asked_by=person)
            number = examination.object.accession_number
            note(person, "report asked for", number, {"report": str(report.pk)})
            enqueue(report)
    except IntegrityError:
        found = _open(examination)
        if found is None:
            raise
        return found  # Somebody asked in the same moment.
    report.refresh_from_db()
    return report


def enqueue(report: Report) -> None:
    from survey.reports.tasks import make  # It calls run: here the two come together.

    make.enqueue(str(report.pk))


def run(report: Report) -> None:
    """Make a report that waits; see ``carry_out``. For the worker."""
    carry_out(
        report,
        lambda: _make(report),
        step="Gathering the record",
        made_with=MADE_WITH,
        troubles=(NotMade,),
        untouched="The record is",
    )


def take_up() -> int:
    """Take up the reports that wait; see ``work.take_up``."""
    return work.take_up(Report, enqueue)


def _open(examination: Examination) -> Report | None:
    """The report that waits or is being made."""
    states = [Report.State.WAITING, Report.State.RUNNING]
    return Report.objects.filter(examination=examination, state__in=states).first()


def _make(report: Report) -> None:
    progress = Progress(report)
    content, tells, revision = _gathered(report, progress)
    progress.say(0.3, "Setting the text")
    html = render_to_string("reports/report.html", {"content": content})
    written, pages = pdf.render(
        html, _pictures(content), lambda share, step: progress.say(0.3 + 0.65 * share, step)
    )
    progress.say(0.97, "Keeping the report")
    sha256 = _keep(written)
    Report.objects.filter(pk=report.pk).update(
        state=Report.State.DONE,
        progress=1.0,
        step="",
        sentence=content.lacks,
        sha256=sha256,
        size_bytes=len(written),
        pages=pages,
        tells=tells,
        revision=revision,
        done_at=timezone.now(),
    )


def _gathered(report: Report, progress: Progress) -> tuple[Content, str, int]:
    """What the report says, of one state of the record: gathered anew when a tablet wrote in it
    meanwhile, rather than keeping tablets from writing."""
    for _ in range(MOST_GATHERED):
        examination = Examination.objects.select_related("object", "visit").get(
            pk=report.examination_id
        )
        revision = queries.revision_of(examination)
        tells = queries.tells(examination)
        content = content_of(examination, report.asked_by, tells, MADE_WITH, progress.say)
        examination.refresh_from_db()
        if queries.revision_of(examination) == revision:
            return content, tells, revision
    raise NotMade("The record is being written in just now. Ask again in a minute.")


def _pictures(content: Content) -> dict[str, tuple[bytes, str]]:
    """What the document shows, by its address in it."""
    pictures = {}
    for figure in content.figures:
        if not figure.trouble:
            pictures[figure.address] = (svg_of(figure).encode(), "image/svg+xml")
            pictures[figure.photograph_address] = (figure.jpeg, "image/jpeg")
    return pictures


def _keep(content: bytes) -> str:
    """Keep a document beside the photographs, where every backup finds it. Returns its SHA-256."""
    sha256 = hashlib.sha256(content).hexdigest()
    folder = Path(settings.UPLOADS_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=folder, delete=False) as file:
        file.write(content)
    try:
        durable.flush(Path(file.name))
        store(Path(file.name), sha256, {"content_type": CONTENT_TYPE})
    finally:
        Path(file.name).unlink(missing_ok=True)
    return sha256
