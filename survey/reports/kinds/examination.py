"""The whole of one examination, for a lender or a file."""

from uuid import UUID

from survey.access.models import Person
from survey.examination.models import Examination
from survey.reports.content import content_of
from survey.reports.job import Document, Kind, Say, safe
from survey.reports.standing import revision_of, tells_of
from survey.reports.svg import pictures_of


def find(key: UUID) -> Examination | None:
    rows = Examination.objects.filter(deleted_at=None).select_related("object", "visit")
    return rows.filter(pk=key).first()


def gather(
    examination: Examination, maker: Person, tells: str, made_with: str, say: Say
) -> Document:
    content = content_of(examination, maker, tells, made_with, say)
    return Document("reports/report.html", content, pictures_of(content.figures), content.lacks)


def number(examination: Examination) -> str:
    return examination.object.accession_number


def file_name(examination: Examination) -> str:
    return f"{safe(number(examination))} examined {examination.started_at:%Y-%m-%d}"


def in_words(examination: Examination) -> str:
    return f"{number(examination)}, examined {examination.started_at:%-d %B %Y}"


KIND = Kind(find, revision_of, tells_of, gather, number, file_name, in_words)
