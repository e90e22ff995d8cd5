"""What a lender finds in the report of a check, signed or not."""

import hashlib
import json
import logging
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.template.loader import render_to_string

from survey.examination.models import Examination, Observation
from survey.loans.models import LoanCheck
from survey.loans.signed_files import read_content
from survey.loans.verifying import verify
from survey.reports.check_content import check_content_of
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.reports.signed import COMMAND
from survey.reports.standing import check_revision_of, check_tells_of
from survey.sync.files import stored_path
from survey.vocabulary.queries import lights
from survey.vocabulary.queries import terms as vocabulary_terms
from tests.desk.readings import photographed, read
from tests.factories import (
    AmendmentFactory,
    ObservationFactory,
    PersonFactory,
    RecommendationFactory,
    TermFactory,
)
from tests.reports.checks import answered, begun, first_photograph, signed
from tests.reports.documents import in_one, made, opened, tagged, text_of
from tests.reports.pdf_ua import faults

pytestmark = pytest.mark.django_db

TORN = {"kind": "polygon", "points": [[10, 20], [60, 20], [60, 50], [10, 50]]}
ANSWERS = {
    "Long tear": ("changed", "It runs 4 mm further than it did."),
    "Foxing": ("same", ""),
    "Old hinge": ("not-visible", "The verso lies against its board."),
    "Cockling": ("", "The light of the crate room was too even."),
}


def content_of(check: LoanCheck) -> Any:
    return check_content_of(check, PersonFactory(), "", "", lambda *_: None)


def words_of(check: LoanCheck) -> str:
    """What a report would say, before it is set as pages."""
    found = KINDS[Report.Kind.LOAN_CHECK].find(check.pk)
    return in_one(render_to_string("reports/loan_check.html", {"content": content_of(found)}))


@pytest.fixture
def check() -> LoanCheck:
    """Of four known points, each found otherwise, and one new finding; not signed."""
    earlier = photographed("normal", "raking", signed=True)
    for name in ANSWERS:
        ObservationFactory(
            examination=earlier,
            term=TermFactory(name=name, definition=f"{name} is what it is."),
            region=TORN if name == "Long tear" else None,
            note=f"{name} as it was.",
        )
    RecommendationFactory(examination=earlier, note="Thought of at home.")
    check = begun(earlier)
    for point in earlier.observations.all():
        answer, reason = ANSWERS[point.term.name]
        answered(check, point, answer, reason, note=f"{point.term.name} as it is.")
    photograph = first_photograph(check)
    ObservationFactory(
        examination=check.examination,
        term=TermFactory(name="Fresh crease"),
        note="At the lower right corner.",
        mark={"photograph": str(photograph.pk), "x": 0.8, "y": 0.8},
    )
    RecommendationFactory(examination=check.examination, note="Thought of at home.")
    return check


def report_of(check: LoanCheck) -> Report:
    return made(check, kind=Report.Kind.LOAN_CHECK)


def test_every_point_reason_and_finding_is_told_in_order(check: LoanCheck, caplog: Any) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        report = report_of(signed(check))
    document = opened(report)
    text = text_of(document)
    at = 0
    for words in (
        "Loan check: condition report", check.examination.object.title,
        check.examination.object.accession_number, "arrival check",
        "Of 4 points known before: 1 left open, 1 same, 1 changed, 1 not visible.",
        "1 new finding.", "Relative humidity: 3 percentage points higher than agreed.",
        "Gallery of the Salt Quay, crate room", "Ruth Pennarrow", "Oak, 420 × 510 mm",
        "At most 50 lx", "Nitrile gloves, and two persons.",
        "Crate 2 Crate 3 Another crate than the list says", "0417, 0418 Found whole",
        "At least 24 h 22.5 h 1.5 h less than agreed", "18 to 22 °C 20.5 °C Within",
        "Number 7: between 19 and 21 °C on the road.", "Acrylic Cracked Damaged",
        "no uncertainty for them", "Compared with the state of",
        "1 Cockling: left open", "Reason: The light of the crate room was too even.",
        "Cockling as it was.", "not described at this check",
        "2 Foxing: same", "Earlier", "Foxing as it was.", "Now", "Foxing as it is.",
        "3 Long tear: changed", "What changed: It runs 4 mm further than it did.",
        "Earlier", "Damage; slight; one place; recto.", "Long tear as it was.",
        "Long tear is what it is.", "Now", "Long tear as it is.",
        "4 Old hinge: not visible", "Reason: The verso lies against its board.",
        "Old hinge as it was.", "not described at this check",
        "New findings", "5 Fresh crease", "At the lower right corner.",
        "Photographs", "Photographs of the earlier state", "Unpacked by two persons.",
        "Signatures", "Ruth Pennarrow, courier.",
        "Ilse Tarn, receiver, for Gallery of the Salt Quay.",
        "hold this document to what was signed", "The attached words are what is signed.",
        "read against the attached words", "manage.py verify-signature FILE",
        hashlib.sha256(check.statement.encode()).hexdigest(), "Words in this report",
        "Recto, verso", "This report",
    ):  # fmt: skip
        found = text.find(words, at)
        assert found >= 0, f"{words!r} is not there, or not after what comes before it"
        at = found
    for number, page in enumerate(document.pages, start=1):
        assert f"Page {number} of {report.pages}" in in_one(page.extract_text())
    assert "Thought of at home." not in text
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []


def test_it_is_built_for_every_kind_of_reader(check: LoanCheck) -> None:
    report = report_of(signed(check))
    document = opened(report)
    assert faults(document) == []
    pictures = [words for kind, words in tagged(document) if kind == "/Figure"]
    number = check.examination.object.accession_number
    assert any(
        words.startswith(f"Part of photograph 2: recto of {number}")
        and "Marked on it: 3 Long tear." in words
        for words in pictures
    )
    assert "Signature of Ruth Pennarrow, courier, drawn by hand" in pictures
    assert document.metadata is not None and document.metadata.title is not None
    assert "Loan check" in document.metadata.title and number in document.metadata.title


def test_what_was_signed_travels_with_it_and_can_be_held_to_the_text(
    check: LoanCheck, tmp_path: Path
) -> None:
    report = report_of(signed(check))
    document = opened(report)
    [content] = document.attachments["signed.json"]
    kept = json.loads(content)
    assert set(kept) == {"statement", "signatures"}
    assert kept["statement"] == check.statement
    assert [one["name"] for one in kept["signatures"]] == ["Ruth Pennarrow", "Ilse Tarn"]
    # The document itself is what verify-signature reads.
    [held] = read_content(stored_path(report.sha256).read_bytes())
    assert verify(held).is_verified
    # The command that the document prints does what it says.
    (tmp_path / "signed.json").write_bytes(content)
    script = COMMAND.partition('-c "')[2].rstrip('"')
    ran = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == kept["signatures"][0]["sha256"]
    assert COMMAND.replace(" ", "") in text_of(document).replace(" ", "")


def test_a_draft_says_so_on_every_page_and_holds_nothing_signed(check: LoanCheck) -> None:
    document = opened(report_of(check))
    assert all("Draft, not signed" in page.extract_text() for page in document.pages)
    assert not document.attachments
    assert "Nobody has signed this check." in text_of(document)
    assert faults(document) == []


def test_a_point_that_nobody_answered_is_told_in_a_draft(check: LoanCheck) -> None:
    check.points.filter(answer="same").delete()
    words = words_of(check)
    assert "Foxing: not answered yet" in words
    assert "1 not answered yet" in words


def test_a_finding_of_which_little_was_said_says_what_was_not(check: LoanCheck) -> None:
    Observation.objects.filter(term__name="Fresh crease").update(severity="", extent="")
    [finding] = content_of(check).findings
    assert finding.facts == "Damage; severity not said; extent not said; recto."


def test_what_is_added_later_stands_apart(check: LoanCheck) -> None:
    signed(check)
    new = Observation.objects.get(term__name="Fresh crease")
    AmendmentFactory(
        examination=check.examination,
        subject=f"observation:{new.pk}",
        field="severity",
        before="slight",
        after="severe",
        reason="It opened at the bench.",
    )
    told = words_of(check)
    assert told.index("It opened at the bench.") > told.index("Signatures</h2>")
    assert "Written after the signatures, and not part of what was signed." in told
    assert told.count("It opened at the bench.") == 1


def test_an_earlier_state_that_was_amended_says_so_beside_its_point(check: LoanCheck) -> None:
    assert check.earlier is not None
    tear = check.earlier.observations.get(term__name="Long tear")
    AmendmentFactory(
        examination=check.earlier, subject=f"observation:{tear.pk}", reason="Measured anew."
    )
    told = words_of(check)
    assert told.index("Long tear: changed") < told.index("Measured anew.")
    assert told.index("Measured anew.") < told.index("Old hinge: not visible")


def test_what_was_added_to_the_earlier_state_is_told_before_the_points(check: LoanCheck) -> None:
    assert check.earlier is not None
    before = check_revision_of(check)
    crease = TermFactory(name="Late crease")
    AmendmentFactory(
        examination=check.earlier,
        after={"observation": {"term": crease.pk, "side": "recto"}},
        reason="Seen by comparing photographs.",
        revision=before + 1,
    )
    told = words_of(check)
    assert "Added since the earlier state was signed" in told
    assert "Amended: observation added, Late crease" in told
    assert told.count("Seen by comparing photographs.") == 1
    assert told.index("Seen by comparing") < told.index("Long tear: changed")
    # A report from before it is behind.
    assert check_revision_of(check) == before + 1


def test_a_point_keeps_its_number_in_both_states(check: LoanCheck) -> None:
    content = content_of(check)
    [tear] = [one for one in content.points if one.name == "Long tear"]
    (_, before, _), (_, now, _) = tear.details
    assert before is not None and now is not None
    assert [shape.number for shape in before.shapes] == [tear.number]
    assert [shape.number for shape in now.shapes] == [tear.number]
    # What was not seen again takes its number along, so that no new finding has it.
    assert [one.number for one in content.findings] == [5]
    assert len({one.address for one in content.drawn}) == len(content.drawn)


def test_a_photograph_that_lies_nowhere_is_not_said_to_be_absent(check: LoanCheck) -> None:
    later = first_photograph(check)
    later.homography = None
    later.save()
    assert check.earlier is not None

    def tear() -> tuple[Any, str]:
        [point] = [one for one in content_of(check).points if one.name == "Long tear"]
        return point.details[1][1:]

    assert tear() == (
        None,
        "This place is not found on the photographs of this check, since they are not placed on "
        "the sheet.",
    )
    # A comparison has laid it on the earlier one.
    Examination.objects.filter(pk=check.earlier_id).update(
        started_at=check.examination.started_at - timedelta(days=20)
    )
    result = {
        "later": str(later.pk),
        "earlier": str(check.earlier.photographs.get(light="normal").pk),
        "laid": {"matrix": [1, 0, 0, 0, 1, 0, 0, 0, 1], "residual_mm": 0.1},
    }
    read(check.examination, "changes", result=result)
    shown, why = tear()
    assert why == "" and [shape.name for shape in shown.shapes] == ["Long tear"]
    later.delete()
    assert tear() == (None, "No photograph of the recto was taken at this check.")


def test_what_was_not_seen_is_shown_where_it_was(check: LoanCheck) -> None:
    assert check.earlier is not None
    check.earlier.observations.filter(term__name="Cockling").update(region=TORN)
    content = content_of(check)
    [point] = [one for one in content.points if one.name == "Cockling"]
    name, shown, _ = point.details[1]
    assert name == "The same place now" and shown is not None
    assert [shape.name for shape in shown.shapes] == ["Cockling"]
    # It was not seen, so none of the photographs as a whole is marked with it.
    assert "Cockling" not in {shape.name for one in content.figures for shape in one.shapes}


def test_lights_and_sides_are_explained_in_the_tablets_words(check: LoanCheck) -> None:
    check.examination.observations.update(lights=["raking"])
    told = words_of(check)
    words = told[told.index("Words in this report") :]
    names = {one["code"]: one["name"] for one in lights()}
    assert names["normal"] in words and names["raking"] in words
    assert names["specular"] not in words
    assert next(one["purpose"] for one in lights() if one["code"] == "normal")[:20] in words
    tablet = in_one((settings.BASE_DIR / "frontend/components/report/content.js").read_text())
    for name, explained in (content_of(check).words[0], content_of(check).words[-1]):
        assert f'["{name}", "{explained}"]' in tablet


def test_points_are_numbered_in_the_order_of_the_vocabulary() -> None:
    """The same case as in tests/frontend/loan-points.test.mjs."""
    earlier = photographed("normal", signed=True)
    orders = {"Soft fold": 1, "Local stain": 2, "Watermark": 3}
    terms = {name: TermFactory(name=name, order=order) for name, order in orders.items()}
    for name in ("Watermark", "Local stain", "Soft fold", "Soft fold"):
        ObservationFactory(examination=earlier, term=terms[name])
    points = content_of(begun(earlier)).points
    assert [one.number for one in points] == [1, 2, 3, 4]
    assert [one.name for one in points] == ["Soft fold", "Soft fold", "Local stain", "Watermark"]
    codes = [terms[name].code for name in orders]
    assert [one["code"] for one in vocabulary_terms() if one["code"] in codes] == codes


def test_a_record_that_says_otherwise_than_was_signed_is_told(check: LoanCheck) -> None:
    signed(check)
    assert "no longer says what was signed" not in words_of(check)
    Observation.objects.filter(term__name="Fresh crease").update(note="Nothing, really.")
    assert "The record no longer says what was signed." in words_of(check)


def test_a_signature_below_other_words_is_told(check: LoanCheck) -> None:
    signed(check)
    check.signatures.filter(name="Ilse Tarn").update(sha256="0" * 64)
    assert "belongs to other words" in words_of(check)


def test_a_signature_with_the_name_alone_is_told(check: LoanCheck) -> None:
    signed(check)
    check.signatures.filter(name="Ilse Tarn").update(strokes=[])
    document = opened(report_of(check))
    told = text_of(document)
    assert told.count("Signed with the name alone; nothing was drawn.") == 1
    alts = [alt for _, alt in tagged(document)]
    assert [alt for alt in alts if alt.startswith("Signature of")] == [
        "Signature of Ruth Pennarrow, courier, drawn by hand"
    ]


def test_a_check_that_one_side_signed_does_not_look_finished(check: LoanCheck) -> None:
    signed(check, ("Ruth Pennarrow", "courier"))
    content = content_of(check)
    assert content.result[0] == "Signed by the courier only; the receiver has not signed."
    assert content.state.startswith("Signed by the courier only, ")
    assert "Ruth Pennarrow only; the receiver has not signed, " in check_tells_of(check)
    assert 'data-state="Signed by the courier only, ' in words_of(check)


def test_a_check_that_both_sides_signed_says_so(check: LoanCheck) -> None:
    content = content_of(signed(check))
    assert not any("has not signed" in sentence for sentence in content.result)
    assert content.state.startswith("Signed ") and "only" not in content.state


def test_each_signature_has_its_own_time_and_its_zone(check: LoanCheck, settings: Any) -> None:
    settings.TIME_ZONE = "Europe/Paris"
    signed(check)
    at = datetime(2026, 11, 29, 9, 58, tzinfo=UTC)
    check.signatures.filter(role="courier").update(signed_at=at)
    check.signatures.filter(role="receiver").update(signed_at=at + timedelta(minutes=2))
    Examination.objects.filter(pk=check.examination_id).update(signed_at=at + timedelta(minutes=3))
    facts = dict(content_of(KINDS[Report.Kind.LOAN_CHECK].find(check.pk)).check)
    assert facts["Signed"] == (
        "Ruth Pennarrow, courier, 29 November 2026, 10:58 CET; "
        "Ilse Tarn, receiver, 29 November 2026, 11:00 CET"
    )
    assert facts["Closed"].startswith("29 November 2026, 11:01 CET; ")
    # Closed by the last signature, it has no time of its own.
    Examination.objects.filter(pk=check.examination_id).update(signed_at=at + timedelta(minutes=2))
    facts = dict(content_of(KINDS[Report.Kind.LOAN_CHECK].find(check.pk)).check)
    assert "Closed" not in facts


def test_a_first_check_has_nothing_to_compare_with() -> None:
    check = begun(photographed("normal", signed=True))
    check.earlier = None
    check.save()
    words = words_of(check)
    assert "No earlier signed state was known: this check is the first." in words
    assert "Observations</h2>" in words


def test_what_could_not_be_seen_before_is_compared_with_the_state_before_that(
    check: LoanCheck,
) -> None:
    signed(check)
    second = begun(check.examination)
    known = {one.name: one.told for one in content_of(second).points}
    assert set(known) == {*ANSWERS, "Fresh crease"}
    assert check.earlier is not None
    assert check.earlier.examiner.name in known["Old hinge"]
    assert check.examination.examiner.name in known["Foxing"]


def test_its_revision_grows_with_all_that_it_tells(check: LoanCheck) -> None:
    assert check.earlier is not None
    rows = [
        check.loan,
        check.loan.loaned.get(),
        check.points.all()[0],
        check.examination.observations.all()[0],
        check.earlier.observations.all()[0],
    ]
    for number, row in enumerate(rows, start=1):
        type(row).objects.filter(pk=row.pk).update(revision=number)
        found = KINDS[Report.Kind.LOAN_CHECK].find(check.pk)
        assert check_revision_of(found) == number


def test_markup_in_words_is_words(check: LoanCheck) -> None:
    check.points.filter(answer="changed").update(reason="<b>Torn</b> & <script>1</script>")
    assert "&lt;b&gt;Torn&lt;/b&gt; &amp; &lt;script&gt;" in words_of(check)
