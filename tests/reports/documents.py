"""Reports that were made at once, and what stands in them."""

import re
from io import BytesIO
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from survey.access.models import Person
from survey.reports import services
from survey.reports.models import Report
from survey.sync.files import stored_path
from tests.factories import PersonFactory
from tests.reports.pdf_ua import elements


def made(record: Any, person: Person | None = None, kind: str = Report.Kind.EXAMINATION) -> Report:
    """A report of it, asked for and made."""
    asked = services.ask(kind, record, person or PersonFactory())
    report = Report.objects.get(pk=asked.pk)
    assert report.state == Report.State.DONE, report.sentence
    return report


def opened(report: Report) -> PdfReader:
    return PdfReader(BytesIO(Path(stored_path(report.sha256)).read_bytes()))


def text_of(document: PdfReader) -> str:
    """The words of all pages, with runs of white space made one."""
    return in_one(" ".join(page.extract_text() for page in document.pages))


def in_one(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def tagged(document: PdfReader) -> list[tuple[str, str]]:
    """(kind, alternative text) of every element of the document's structure, in order."""
    return [(str(one["/S"]), str(one.get("/Alt", ""))) for one, _ in elements(document)]
