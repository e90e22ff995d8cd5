"""What a reader finds in a report, and how the document is built for every kind of reader."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.template.loader import render_to_string

from survey.examination.models import Examination
from survey.reports.content import content_of, in_runs
from survey.reports.standing import tells_of
from survey.sync.files import stored_path
from tests.desk import readings
from tests.desk.readings import photographed
from tests.factories import (
    AmendmentFactory,
    MeasurementFactory,
    ObservationFactory,
    PersonFactory,
    RecommendationFactory,
    TermFactory,
    WatermarkFactory,
    examined,
)
from tests.reports.documents import in_one, made, opened, tagged, text_of

pytestmark = pytest.mark.django_db

SQUARE = {"kind": "polygon", "points": [[10, 20], [60, 20], [60, 50], [10, 50]]}


def words_of(examination: Examination) -> str:
    """What a report would say, before it is set as pages."""
    said = content_of(examination, PersonFactory(), tells_of(examination), "", lambda *_: None)
    return in_one(render_to_string("reports/report.html", {"content": said}))


@pytest.fixture
def full() -> Examination:
    """A signed examination with something of each kind."""
    examination = photographed("normal", "transmitted", signed=True, notes="Looked at twice.")
    tear = ObservationFactory(
        examination=examination,
        term=TermFactory(name="Long tear", definition="A break with drawn fibres."),
        region=SQUARE,
        note="From the top edge.",
    )
    ObservationFactory(
        examination=examination, term=TermFactory(name="Plate edge"), nature="feature", severity=""
    )
    MeasurementFactory(examination=examination, observation=tear, what="Length", value=12.5)
    RecommendationFactory(examination=examination, note="Mend from the verso.", hazards=["wet"])
    WatermarkFactory(examination=examination, motif="Bell", width_mm=32.0)
    AmendmentFactory(
        examination=examination,
        subject=f"observation:{tear.pk}",
        field="severity",
        before="slight",
        after="severe",
        reason="Opened when lifted.",
        signed_name="Ines Marchetti",
    )
    crease = TermFactory(name="Late crease")
    AmendmentFactory(
        examination=examination,
        after={"observation": {"term": crease.pk, "side": "recto"}},
        reason="Seen by comparing two photographs.",
    )
    readings.read(examination, "paper", result=readings.paper(10.0, 35.5, 61.0))
    return examination


def test_a_reader_finds_all_that_was_recorded(full: Examination, caplog: Any) -> None:
    maker = PersonFactory(first_name="Wren", last_name="Halloway")
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        report = made(full, maker)
    document = opened(report)
    text = text_of(document)
    item = full.object
    for words in (
        item.accession_number, item.title, item.maker, "about 1875", "Etching", "Laid paper",
        "225 × 310 mm (height × width), ± 1 mm", full.visit.name, full.examiner.name,
        f"asked for by {maker.name}", "with 2 amendments",
        "Long tear", "Damage; slight; one place; recto.", "A break with drawn fibres.",
        "From the top edge.", "Drawn on photograph 1.", "Plate edge", "Feature, not damage",
        "Length 12.5 mm ± 0.5 mm", "Watermark: Bell", "32 ± 0.5 mm",
        "As signed: Slight. Amended to: Severe.", "Opened when lifted.",
        "Amended: observation added, Late crease Seen by comparing two photographs.",
        "Ines Marchetti",
        "Laid lines in a centimetre", "9.42 ± 0.03 lines", "It advises; the conservator decides",
        "Treat", "Cannot wait: wet or damp", "Mend from the verso.", "Caution: wet or damp",
        "Looked at twice.", "the conservator decided and signed",
    ):  # fmt: skip
        assert words in text, words
    for number, page in enumerate(document.pages, start=1):
        on_it = in_one(page.extract_text())
        assert f"Page {number} of {report.pages}" in on_it
        assert item.accession_number in on_it
    # Nothing was left out or wanting by the word of the library.
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []


def test_it_is_a_tagged_document_with_title_language_and_bookmarks(full: Examination) -> None:
    document = opened(made(full))
    root: Any = document.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b'pdfuaid:part="1"' in root["/Metadata"].get_data()
    assert document.metadata is not None and document.metadata.title is not None
    assert full.object.accession_number in document.metadata.title
    assert document.metadata.author == full.examiner.name
    titles = [one["/Title"] for one in document.outline[1] if not isinstance(one, list)]
    assert titles[:2] == ["The object", "The examination"]
    assert {"Photographs", "Observations", "Recommended work"} <= set(titles)
    tags = tagged(document)
    pictures = [alternative for kind, alternative in tags if kind == "/Figure"]
    assert len(pictures) == 2
    assert all(full.object.accession_number in one for one in pictures)
    assert "Long tear." in pictures[0].partition("Marked on it: ")[2]
    assert "With a scale of 100 mm." in pictures[0]
    assert "Nothing is marked on it." in pictures[1]
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD", "/L"} <= {kind for kind, _ in tags}


def test_markup_in_a_note_is_words_and_a_long_note_goes_over_pages() -> None:
    examination = examined(notes="<script>alert(1)</script> & <b>bold</b>\n" * 60)
    ObservationFactory(examination=examination, note="Torn <i>twice</i>. " * 250 + "The very end.")
    report = made(examination)
    text = text_of(opened(report))
    assert text.count("<script>alert(1)</script> & <b>bold</b>") == 60
    assert "Torn <i>twice</i>." in text and "The very end." in text
    assert report.pages is not None and report.pages >= 3
    assert "No photographs were taken." in text


def test_a_photograph_that_is_not_here_is_told_of() -> None:
    examination = photographed("normal", "raking", "ultraviolet")
    _, raking, ultraviolet = examination.photographs.order_by("taken_at")
    stored_path(raking.sha256).unlink()
    stored_path(ultraviolet.sha256).write_bytes(b"no picture")
    report = made(examination)
    assert report.sentence == (
        "2 of 3 photographs could not be shown; the report says which, and why."
    )
    document = opened(report)
    text = text_of(document)
    assert text.count("missing or damaged on the server") == 2
    assert report.sentence in text
    assert [kind for kind, _ in tagged(document)].count("/Figure") == 1
    assert "Draft." in text and "Draft, not yet signed" in document.pages[-1].extract_text()


def test_a_photograph_that_has_not_arrived_is_told_of() -> None:
    examination = photographed("normal")
    photograph = examination.photographs.get()
    photograph.sha256 = "0" * 64
    photograph.save()
    assert "has not arrived from the tablet" in words_of(examination)


def test_nothing_seen_is_not_an_empty_list() -> None:
    assert "The examiner looked and saw no damage." in words_of(examined(nothing_seen=True))
    assert "has not said either that nothing was seen" in words_of(examined())


def test_what_was_not_measured_is_said() -> None:
    examination = examined(sheet_width_mm=None, sheet_height_mm=None)
    assert "by the catalogue, which gives no uncertainty" in words_of(examination)
    examination.object.width_mm = None
    examination.object.save()
    assert '<div class="name">Sheet</div><div>Not measured</div>' in words_of(examination)


def test_a_corrected_reading_tells_who_corrected_it() -> None:
    examination = photographed("transmitted", signed=True)
    reading = readings.read(examination, "paper", result=readings.paper(10.0, 35.5))
    reading.corrections.create(
        changes={}, result=readings.paper(10.0, 35.5, 61.0), person=examination.examiner
    )
    words = words_of(examination)
    assert f"Corrected by {examination.examiner.name}" in words
    assert '<div class="name">Chain lines</div><div>3</div>' in words


def test_a_hazard_is_told_first_and_what_to_keep_to(full: Examination) -> None:
    words = words_of(full)
    assert words.index("Caution: wet or damp") < words.index("Photographs</h2>")
    assert "Raised by the examiner with the recommendation." in words
    assert "<h2>Precautions</h2>" in words
    calm = words_of(examined())
    assert "Cautions" not in calm and "Precautions" not in calm


def test_on_a_sheet_with_a_hazard_no_work_waits() -> None:
    examination = examined()
    RecommendationFactory(examination=examination)
    assert "<td>No hazard noted</td>" in words_of(examination)
    ObservationFactory(examination=examination, term=TermFactory(name="Flakes", hazards=["wet"]))
    assert "<td>Cannot wait: wet or damp</td>" in words_of(examination)
    # A trace of making is no hazard.
    examination.observations.update(nature="feature")
    assert "<td>No hazard noted</td>" in words_of(examination)


@pytest.mark.parametrize(
    ("numbers", "said"),
    [([], ""), ([4], "4"), ([1, 2], "1, 2"), ([1, 2, 3, 5, 7, 8, 9, 10], "1–3, 5, 7–10")],
)
def test_many_numbers_are_told_in_short(numbers: list[int], said: str) -> None:
    assert in_runs(numbers) == said


def test_a_comparison_is_called_old_only_once_a_photograph_lies_otherwise() -> None:
    before, now = (readings.photographed("normal") for _ in range(2))
    before.object, before.started_at = now.object, now.started_at - timedelta(days=730)
    before.save()
    earlier, later = before.photographs.get(), now.photographs.get()
    readings.read(
        now,
        "changes",
        given={"light": "normal"},
        photographs=[str(earlier.pk), str(later.pk)],
        placed={str(one.pk): readings.TENTH_MM for one in (earlier, later)},
        result={"regions": []},
        sentence="Nothing stands out.",
    )
    text = text_of(opened(made(now)))
    assert "Nothing stands out." in text and "placed anew" not in text
    earlier.homography = [0.2, 0, 0, 0, 0.2, 0, 0, 0, 1]
    earlier.save()
    assert "A photograph was placed anew since" in text_of(opened(made(now)))
