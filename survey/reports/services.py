"""What makes reports. ``ask`` puts one in the queue of the worker, which calls ``run``."""

import hashlib
import logging
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F
from django.template.loader import render_to_string
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.examination.models import Examination
from survey.reading.progress import Progress
from survey.reading.services import MOST_BEGUN
from survey.reports import pdf, queries
from survey.reports.content import Content, content_of
from survey.reports.models import Report
from survey.reports.svg import svg_of
from survey.reports.trouble import CannotAsk, NotMade
from survey.sync import durable
from survey.sync.files import store

logger = logging.getLogger(__name__)

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
    """Make a report that waits. Called by the worker.

    One that is already being made, or is done, is left alone. Whatever goes wrong is told in
    the report's sentence; Stopped and the like put it back to wait, and go on upwards.
    """
    rows = Report.objects.filter(pk=report.pk)
    claimed = rows.filter(state=Report.State.WAITING).update(
        state=Report.State.RUNNING,
        begun=F("begun") + 1,
        progress=0.0,
        step="Gathering the record",
        made_with=MADE_WITH,
    )
    if not claimed:
        return
    report.refresh_from_db()
    try:
        if report.begun > MOST_BEGUN:
            raise NotMade(
                f"The server stopped {MOST_BEGUN} times while it made this report, and gave it up. "
                "Tell whoever looks after Fieldleaf; ask again when they have looked."
            )
        _make(report)
    except NotMade as error:
        _fail(report, str(error))
    except Exception as error:
        logger.exception("Report %s met a fault.", report.pk)
        _fail(report, _fault(error))
    except BaseException:
        # The worker was told to end: the next one takes it up, and this was no fault of it.
        rows.update(state=Report.State.WAITING, begun=F("begun") - 1, progress=0.0, step="")
        raise


def take_up() -> int:
    """Put back to wait what a worker was at when it was killed, and queue all that waits.

    Only where no worker runs. Returns how many wait. One that is queued twice is made once.
    """
    Report.objects.filter(state=Report.State.RUNNING).update(
        state=Report.State.WAITING, progress=0.0, step=""
    )
    waiting = list(Report.objects.filter(state=Report.State.WAITING).order_by("asked_at", "pk"))
    for report in waiting:
        enqueue(report)
    return len(waiting)


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


def _fail(report: Report, sentence: str) -> None:
    Report.objects.filter(pk=report.pk).update(
        state=Report.State.FAILED, step="", sentence=sentence, done_at=timezone.now()
    )


def _fault(error: Exception) -> str:
    if isinstance(error, OSError):
        return f"The disk failed ({error.strerror or error}). Make room or mend it, then ask again."
    return (
        "The server failed on this report and noted the fault. The record is untouched. Tell "
        "whoever looks after Fieldleaf."
    )
