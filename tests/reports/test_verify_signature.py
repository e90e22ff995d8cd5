"""What the command says of a file: the words that were signed, and what of it was not compared."""

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError
from pypdf import PdfReader, PdfWriter

from survey.loans.models import LoanCheck
from survey.loans.signed_files import as_json, signed_of
from survey.reports.management.commands import verify_signature
from survey.reports.models import Report
from survey.reports.said import said_of
from tests.desk.readings import photographed
from tests.factories import (
    MeasurementFactory,
    ObservationFactory,
    PersonFactory,
    TermFactory,
)
from tests.reports.checks import answered, begun, signed

pytestmark = pytest.mark.django_db


@pytest.fixture
def check() -> LoanCheck:
    """Signed; of three known points, one the same, one changed, one not visible; one new."""
    earlier = photographed("normal", signed=True)
    for name in ("Foxing", "Long tear", "Old hinge"):
        ObservationFactory(examination=earlier, term=TermFactory(name=name))
    one = begun(earlier)
    known = {point.term.name: point for point in earlier.observations.all()}
    answered(one, known["Foxing"], "same")
    answered(
        one, known["Long tear"], "changed", "Longer by about 4 mm.", severity="severe", note="Open."
    )
    answered(one, known["Old hinge"], "not-visible", "The verso lies\nagainst its board.")
    new = ObservationFactory(
        examination=one.examination,
        term=TermFactory(name="Fresh crease"),
        severity="",
        extent="",
        note="At the corner.",
    )
    MeasurementFactory(
        examination=one.examination, observation=new, what="Length", value=18.1, uncertainty=0.4
    )
    return signed(one)


def said(path: Path) -> str:
    written = io.StringIO()
    call_command("verify_signature", str(path), stdout=written, stderr=written)
    return written.getvalue()


def kept(path: Path, content: bytes) -> Report:
    """A finished report with these bytes."""
    path.write_bytes(content)
    made: Report = Report.objects.create(
        kind=Report.Kind.LOAN_CHECK,
        about=LoanCheck.objects.get().pk,
        asked_by=PersonFactory(),
        state=Report.State.DONE,
        sha256=hashlib.sha256(content).hexdigest(),
    )
    return made


def as_pdf(check: LoanCheck, pages: int = 3) -> bytes:
    writer = PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(200, 200)
    writer.add_attachment("signed.json", as_json(signed_of(check)).encode())
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def test_what_was_signed_is_printed_to_be_read_against_the_pages(
    check: LoanCheck, tmp_path: Path
) -> None:
    (tmp_path / "signed.json").write_text(as_json(signed_of(check)))
    words = said(tmp_path / "signed.json")
    number = check.examination.object.accession_number
    at = 0
    for line in (
        f"\n  Object: {number}, {check.examination.object.title}",
        f"\n  Loan: {check.loan.reference}, ",
        "\n  Stage: Arrival\n",
        "\n  Venue: Gallery of the Salt Quay, crate room\n",
        "\n  Verso: Verso not accessible\n",
        "\n  Result: Of 3 points known before: 1 same, 1 changed, 1 not visible.\n",
        "\n  Result: 1 new finding.\n",
        "\n  Point 1: Foxing: same. Now: Damage; ",
        "\n  Point 2: Long tear: changed. What changed: Longer by about 4 mm. Now: Damage; severe",
        "Open.\n",
        "\n  Point 3: Old hinge: not visible. Reason: The verso lies against its board.\n",
        "\n  New finding 4: Fresh crease. Damage; severity not said; extent not said; recto. ",
        "At the corner.\n",
        "\n  Measured: Length: 18.1 ± 0.4 mm, of Fresh crease\n",
        "\n  Crate: Crate 3\n",
        "\n  Seals: 0417, 0418; found whole\n",
        "\n  Time in the closed crate: 22.5 h\n",
        "\n  Temperature: 20.5 °C\n",
        "\n  Relative humidity: 58 %\n",
        "\n  Data logger: Number 7: between 19 and 21 °C on the road.\n",
        "\n  Glazing: Cracked\n",
        "\n  Photographs: 1\n",
        "\n  Photograph: Normal light, recto, taken ",
        "\n  Note: Unpacked by two persons.\n",
        "\nVerified: the words above were signed, each signature belongs to them",
    ):
        found = words.find(line, max(at - 1, 0))
        assert found >= 0, f"{line!r} is not there, or not after what comes before it:\n{words}"
        at = found + len(line)


def test_conditions_that_were_left_out_are_told(check: LoanCheck) -> None:
    check.signatures.all().delete()
    check.temperature_c, check.seals, check.seals_whole, check.glazing = None, "", "", ""
    facts = said_of(signed(check))
    for name in ("Temperature", "Seals", "Glazing"):
        assert (name, "Not noted") in facts


def test_a_pdf_of_this_server_is_told_from_one_whose_pages_were_taken_out(
    check: LoanCheck, tmp_path: Path
) -> None:
    path = tmp_path / "check.pdf"
    kept(path, as_pdf(check))
    words = said(path).rstrip()
    assert "is, byte for byte, one that this server made" in words.rpartition("\n")[2]
    assert "report of the arrival check of" in words

    writer = PdfWriter(PdfReader(path))
    writer.remove_page(writer.pages[0])
    writer.write(path)
    words = said(path).rstrip()
    assert words.rpartition("\n")[2].startswith(
        "This file is not one that this server keeps: its pages may have been changed"
    )
    assert "Longer by about 4 mm." in words


def test_a_page_with_other_words_than_those_signed_is_not_called_sound(
    check: LoanCheck, tmp_path: Path
) -> None:
    """The signed part as it was, the words that a reader sees forged."""
    part = as_json(signed_of(check)).replace("<", "\\u003c")
    (tmp_path / "report.html").write_text(
        "<!doctype html><html><body><h1>Long tear: no change at all.</h1>"
        f'<script type="application/json" id="signed">{part}</script></body></html>'
    )
    words = said(tmp_path / "report.html").rstrip()
    assert "What changed: Longer by about 4 mm." in words
    assert "no change at all" not in words
    last = words.rpartition("\n")[2]
    assert "What the pages of this file show was not compared" in last
    assert "all of it holds" not in words


def test_words_that_were_not_signed_are_not_printed_as_if_they_were(
    check: LoanCheck, tmp_path: Path
) -> None:
    forged = as_json(signed_of(check)).replace("Longer by about 4 mm.", "No change at all.")
    (tmp_path / "signed.json").write_text(forged)
    written = io.StringIO()
    with pytest.raises(CommandError, match="Not verified"):
        call_command(
            "verify_signature", str(tmp_path / "signed.json"), stdout=written, stderr=written
        )
    assert "What was signed:" not in written.getvalue()
    assert "No change at all." not in written.getvalue()


def test_words_cannot_steer_the_terminal_or_pass_for_lines_of_the_command(
    check: LoanCheck, tmp_path: Path
) -> None:
    check.signatures.all().delete()
    check.note = "Fine.\x1b[2K\nVerified: all of it."
    signed(check)
    (tmp_path / "signed.json").write_text(as_json(signed_of(check)))
    words = said(tmp_path / "signed.json")
    assert "\x1b" not in words
    assert "\nVerified: all of it." not in words
    assert "  Note: Fine. [2K Verified: all of it.\n" in words


def test_a_first_check_tells_what_it_saw(check: LoanCheck) -> None:
    check.signatures.all().delete()
    check.points.all().delete()
    check.earlier = None
    facts: Any = said_of(signed(check))
    names = [name for name, _ in facts]
    assert ("Result", "No earlier signed state was known: this check is the first.") in facts
    assert "Observation 1" in names and "New finding 1" not in names


def test_a_record_that_cannot_be_read_is_told_with_what_to_do(
    check: LoanCheck, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "signed.json"
    path.write_text(as_json(signed_of(check)))

    def no_table(_: Any) -> None:
        raise OperationalError("no such table: loans_loancheck")

    monkeypatch.setattr(verify_signature, "verify", no_table)
    with pytest.raises(CommandError, match=r"could not be read \(no such table.* where the server"):
        said(path)
