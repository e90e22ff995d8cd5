"""Reports that were made at once, and what stands in them."""

import re
from io import BytesIO
from pathlib import Path
from typing import Any

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from survey.access.models import Person
from survey.examination.models import Examination
from survey.reports import services
from survey.reports.models import Report
from survey.sync.files import stored_path
from tests.factories import PersonFactory


def made(examination: Examination, person: Person | None = None) -> Report:
    """A report of it, asked for and made."""
    asked = services.ask(examination, person or PersonFactory())
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
    found: list[tuple[str, str]] = []

    def walk(node: Any) -> None:
        one = node.get_object() if isinstance(node, IndirectObject) else node
        if isinstance(one, list):
            for child in one:
                walk(child)
        elif isinstance(one, DictionaryObject) and "/S" in one:
            found.append((str(one["/S"]), str(one.get("/Alt", ""))))
            walk(one.get("/K", []))

    root: Any = document.trailer["/Root"]
    walk(root["/StructTreeRoot"]["/K"])
    return found
