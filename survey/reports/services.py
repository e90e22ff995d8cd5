"""What makes reports. ``ask`` puts one in the queue of the worker, which calls ``run``."""

import hashlib
import tempfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.reading import work
from survey.reading.progress import Progress
from survey.reading.work import carry_out
from survey.reports import pdf
from survey.reports.job import Document
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.reports.trouble import CannotAsk, NotMade
from survey.sync import durable
from survey.sync.files import store

MADE_WITH = "Fieldleaf, report 3"
CONTENT_TYPE = "application/pdf"
# How often the record is read until it stood still meanwhile.
MOST_GATHERED = 3


def ask(kind: str, record: Any, person: Person) -> Report:
    """Ask for a report of a record as it stands when it is made, in the background.

    kind    of Report.Kind; the record is of its model

    Whoever may see the record may ask. While one waits or is being made, it is that one that is
    given back. Raises CannotAsk with a sentence.
    """
    lacking = pdf.lacking()
    if lacking:
        raise CannotAsk(lacking)
    found = _open(kind, record)
    if found is not None:
        return found
    try:
        with transaction.atomic():
            report = Report.objects.create(kind=kind, about=record.pk, asked_by=person)
            number = KINDS[kind].number(record)
            note(person, "report asked for", number, {"report": str(report.pk), "kind": kind})
            enqueue(report)
    except IntegrityError:
        found = _open(kind, record)
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


def _open(kind: str, record: Any) -> Report | None:
    """The report that waits or is being made."""
    states = [Report.State.WAITING, Report.State.RUNNING]
    return Report.objects.filter(kind=kind, about=record.pk, state__in=states).first()


def _make(report: Report) -> None:
    progress = Progress(report)
    document, tells, revision = _gathered(report, progress)
    progress.say(0.3, "Setting the text")
    html = render_to_string(document.template, {"content": document.content})
    written, pages = pdf.render(
        html,
        document.pictures,
        lambda share, step: progress.say(0.3 + 0.65 * share, step),
        document.attached,
    )
    progress.say(0.97, "Keeping the report")
    sha256 = _keep(written)
    Report.objects.filter(pk=report.pk).update(
        state=Report.State.DONE,
        progress=1.0,
        step="",
        sentence=document.lacks,
        sha256=sha256,
        size_bytes=len(written),
        pages=pages,
        tells=tells,
        revision=revision,
        done_at=timezone.now(),
    )


def _gathered(report: Report, progress: Progress) -> tuple[Document, str, int]:
    """What the report says, of one state of the record: gathered anew when a tablet wrote in it
    meanwhile, rather than keeping tablets from writing."""
    kind = KINDS[report.kind]
    for _ in range(MOST_GATHERED):
        record = kind.find(report.about)
        if record is None:
            raise NotMade("The record was deleted before its report was made.")
        revision, tells = kind.revision(record), kind.tells(record)
        document = kind.gather(record, report.asked_by, tells, MADE_WITH, progress.say)
        after = kind.find(report.about)
        if after is not None and kind.revision(after) == revision:
            return document, tells, revision
    raise NotMade("The record is being written in just now. Ask again in a minute.")


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
