"""The rules of PDF/UA find what is wrong, so that a document without faults means something."""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ContentStream, NameObject

from survey.reports import pdf
from survey.reports.job import Attached
from tests.reports.pdf_ua import elements, faults

PAGE = (
    "<!doctype html><html lang=en><title>A</title><h1>One</h1><h2>Two</h2>"
    "<p>Text <a href='#b'>to b</a>.</p><img alt='A dot' src='drawn:dot'>"
    "<table><thead><tr><th scope=col>A<th scope=col>B</thead>"
    "<tbody><tr><th scope=row>1<td id=b>2</tbody></table><ul><li>x</ul>"
)
DOT = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><circle r='4'/></svg>"


def written() -> PdfReader:
    content, _ = pdf.render(
        PAGE,
        {"drawn:dot": (DOT, "image/svg+xml")},
        lambda *_: None,
        [Attached("a.json", "A file", b"{}")],
    )
    return PdfReader(BytesIO(content))


def broken(change: Callable[[PdfWriter, Any], None]) -> list[str]:
    """What is found after something was changed in a good document."""
    writer = PdfWriter(clone_from=written())
    change(writer, writer.root_object)
    file = BytesIO()
    writer.write(file)
    return faults(PdfReader(file))


def first(writer: PdfWriter, kind: str) -> Any:
    return next(one for one, _ in elements(writer) if one["/S"] == kind)


def untagged(writer: PdfWriter, root: Any) -> None:
    page = writer.pages[0]
    content = ContentStream(page["/Contents"].get_object(), writer)
    content.operations.append(([], b"f"))
    page[NameObject("/Contents")] = content


def test_a_good_document_has_no_faults() -> None:
    assert faults(written()) == []


@pytest.mark.parametrize(
    ("change", "clause"),
    [
        (lambda writer, root: root.pop("/Lang"), "7.2: no language"),
        (lambda writer, root: root.pop("/MarkInfo"), "6.2:"),
        (lambda writer, root: root.pop("/Metadata"), "5:"),
        (lambda writer, root: root.pop("/ViewerPreferences"), "7.1: a reader"),
        (lambda writer, root: root["/StructTreeRoot"].pop("/IDTree"), "7.5:"),
        (lambda writer, root: first(writer, "/Figure").pop("/Alt"), "7.3:"),
        (lambda writer, root: first(writer, "/TH")["/A"].pop("/Scope"), "7.5:"),
        (
            lambda writer, root: first(writer, "/H2").update({NameObject("/S"): NameObject("/H3")}),
            "7.4.2:",
        ),
        (
            lambda writer, root: first(writer, "/H1").update({NameObject("/S"): NameObject("/P")}),
            "7.4.2:",
        ),
        (
            lambda writer, root: first(writer, "/L").update({NameObject("/S"): NameObject("/Div")}),
            "7.2: LI in Div",
        ),
        (
            lambda writer, root: first(writer, "/P").update({NameObject("/S"): NameObject("/Odd")}),
            "7.1: Odd",
        ),
        (lambda writer, root: writer.pages[0].pop("/Tabs"), "7.18.3:"),
        (
            lambda writer, root: writer.pages[0]["/Annots"][0].get_object().pop("/Contents"),
            "7.18.5:",
        ),
        (untagged, "7.1: page 1 paints (f)"),
        (
            lambda writer, root: [
                font.get_object().pop("/ToUnicode")
                for font in writer.pages[0]["/Resources"]["/Font"].values()
            ],
            "7.21.7:",
        ),
    ],
)
def test_what_is_broken_is_found(change: Any, clause: str) -> None:
    assert any(fault.startswith(clause) for fault in broken(change)), broken(change)


def test_another_checker_agrees() -> None:
    checker = pytest.importorskip("page", reason="the package page-validation is not installed")
    found = checker.validate_pdf_bytes(written().stream.getvalue(), profile="ua1")
    assert [one.message for one in found.failures] == []
