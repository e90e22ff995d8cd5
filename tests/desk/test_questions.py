"""Open questions: both values are shown, and a person settles which stands."""

from typing import Any

import pytest
from django.urls import reverse

from survey.examination.models import Examination, Observation
from survey.reports.words import value_in_words
from survey.sync.models import Change, OpenQuestion
from tests.desk.conftest import text_of
from tests.factories import (
    DeviceFactory,
    ExaminationFactory,
    MeasurementFactory,
    ObservationFactory,
    TermFactory,
)
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def tablet(token: str, first_name: str) -> WireTablet:
    device = DeviceFactory(token=token, person__first_name=first_name, person__last_name="Vale")
    return WireTablet(device, token)


def disagree(entity: str, row: Any, **fields: tuple[Any, Any]) -> OpenQuestion:
    """Ada says the first values, Bea, who did not see them, the second ones later."""
    ada, bea = tablet("a", "Ada"), tablet("b", "Bea")
    ada.push(entity, row.pk, base=0, **{name: pair[0] for name, pair in fields.items()})
    bea.push(entity, row.pk, base=0, **{name: pair[1] for name, pair in fields.items()})
    return OpenQuestion.objects.get()


@pytest.fixture
def severity() -> OpenQuestion:
    seen = ObservationFactory(
        term=TermFactory(name="Long tear"), examination__object__title="Harbour wall"
    )
    return disagree("observation", seen, severity=("moderate", "severe"))


def severity_now(question: OpenQuestion) -> str:
    return Observation.objects.get(pk=question.entity_id).severity


def settle(client, question, **answer):
    return client.post(reverse("desk:settle", args=[question.pk]), answer, follow=True)


def test_both_values_are_shown_with_who_and_when(desk, severity):
    page = text_of(desk.get(reverse("desk:questions")))
    assert "Long tear: severity Harbour wall" in page
    assert "Shown in the record Severe Bea Vale, " in page
    assert "Kept beside it Moderate Ada Vale, " in page


def test_the_question_stands_on_the_object_and_the_examination(desk, severity):
    examination = Observation.objects.get(pk=severity.entity_id).examination
    for path in (
        reverse("desk:object", args=[examination.object_id]),
        reverse("desk:examination", args=[examination.pk]),
    ):
        assert "Long tear: severity" in text_of(desk.get(path))


@pytest.mark.parametrize(
    ("answer", "stands"),
    [
        ({"answer": "shown"}, "severe"),
        ({"answer": "kept"}, "moderate"),
        ({"answer": "other", "other": "slight"}, "slight"),
    ],
)
def test_a_person_picks_one_value_or_gives_a_third(desk, conservator, severity, answer, stands):
    page = settle(desk, severity, **answer)
    assert "Settled. Both values stay in the record's history." in text_of(page)
    assert severity_now(severity) == stands
    severity.refresh_from_db()
    assert severity.settled_by == conservator
    said = Change.objects.filter(entity_id=severity.entity_id).values_list("fields", flat=True)
    assert {"severity": "moderate"} in said and {"severity": "severe"} in said


def test_a_third_answer_outside_the_choices_is_refused(desk, severity):
    page = settle(desk, severity, answer="other", other="dreadful")
    assert "Choose one of the values offered." in text_of(page)
    severity.refresh_from_db()
    assert severity.is_open


def test_a_third_answer_in_words_is_written(desk):
    examination = ExaminationFactory()
    question = disagree("examination", examination, notes=("Cockled", "Flat"))
    settle(desk, question, answer="other", other="Cockled at the foot only")
    examination.refresh_from_db()
    assert examination.notes == "Cockled at the foot only"


def test_a_third_answer_the_record_does_not_take_is_refused_with_its_sentence(desk):
    examination = ExaminationFactory()
    question = disagree("examination", examination, sheet_width_mm=(300, 310))
    page = settle(desk, question, answer="other", other="-5")
    assert "It could not be settled so." in text_of(page)
    question.refresh_from_db()
    assert question.is_open


def test_a_third_answer_may_be_several_of_the_choices(desk):
    question = disagree("observation", ObservationFactory(), lights=(["raking"], ["normal"]))
    page = desk.get(reverse("desk:questions"))
    assert "Raking light" in text_of(page)
    assert page.content.decode().count('type="checkbox" name="other"') == 5
    settle(desk, question, answer="other", other=["infrared"])
    question.refresh_from_db()
    assert question.is_open
    settle(desk, question, answer="other", other=["raking", "ultraviolet"])
    assert Observation.objects.get(pk=question.entity_id).lights == ["raking", "ultraviolet"]


def test_shapes_are_told_in_words_and_settled_by_one_of_the_two_values_only(desk):
    first, second = (
        {"kind": "polygon", "points": [[10, 20], [50, 20], [50, lowest], [10, 45]]}
        for lowest in (45, 60)
    )
    question = disagree("observation", ObservationFactory(), region=(first, second))
    page = text_of(desk.get(reverse("desk:questions")))
    where = "10 mm from the left and 20 mm from the top of the sheet"
    assert f"A region with 4 corners, about 40 mm wide and 25 mm high, {where}" in page
    assert f"A region with 4 corners, about 40 mm wide and 40 mm high, {where}" in page
    assert "third answer" not in page
    settle(desk, question, answer="other", other="a circle")
    question.refresh_from_db()
    assert question.is_open


@pytest.mark.parametrize(
    ("entity", "field", "value", "words"),
    [
        ("examination", "sheet_width_mm", 310.5, "310.5 mm"),
        ("photograph", "azimuth_deg", 290.0, "290°"),
        ("recommendation", "hours", 1.5, "1.5 hours"),
        ("recommendation", "hazards", [], "Nothing said"),
        ("observation", "mark", {"x": 0.3, "y": 0.456}, "30 % across the photograph and 46 % down"),
        ("visit", "purpose", "bench", "Bench examination"),
        ("observation", "deleted", True, "Deleted the record"),
        (
            "photograph",
            "homography",
            [0.1, 0, -12, 0, 0.1, -8, 0, 0, 1],
            "−8 mm down from the sheet’s, about 10.0 pixels to the millimetre",
        ),
        ("examination", "lamp_s", 725, "12 min 5 s"),
        ("watermark", "kind", "countermark", "Countermark"),
        ("watermark", "match", "type", "Of the same type only"),
        ("watermark", "width_mm", 24.5, "24.5 mm"),
        ("watermark", "chains_within", 2, "2"),
        ("watermark", "repertory_from_year", 1720, "1720"),
        (
            "photograph",
            "placing",
            {
                "kind": "corners",
                "points": [[0, 0], [9, 0], [9, 9], [0, 9]],
                "size_mm": [310.5, 225],
                "mm_per_px": 0.1,
                "uncertainty_mm": 0.5,
            },
            "of a sheet 310.5 × 225 mm (width × height), about 10.0 pixels to the millimetre, "
            "to within 0.5 mm",
        ),
        (
            "photograph",
            "shot_check",
            {"sharp": False, "steady": True, "exposed": True, "sentences": ["Not sharp."]},
            "Checked after the shot. Not sharp.",
        ),
        (
            "measurement",
            "points",
            [[10, 20.4], [30, 40]],
            "A line of 2 points that begins 10 mm right and 20 mm down on the sheet",
        ),
        (
            "examination",
            "position",
            {"latitude": 50.1, "longitude": -5.25, "accuracy_m": 12.4},
            "Latitude 50.10000°, longitude −5.25000°, to within 12 m",
        ),
    ],
)
def test_values_are_told_as_a_person_would_say_them(entity, field, value, words):
    assert value_in_words(entity, field, value).endswith(words)


def test_a_measured_value_has_the_unit_of_its_record(desk):
    measured = MeasurementFactory(value=20, unit="mm2")
    disagree("measurement", measured, value=(21, 22.5))
    page = text_of(desk.get(reverse("desk:questions")))
    assert "22.5 mm²" in page
    assert "Third answer, mm²" in page


def test_a_signed_examination_can_only_let_stand_what_is_shown(desk):
    examination = ExaminationFactory(nothing_seen=True)
    question = disagree("examination", examination, notes=("Cockled", "Flat"))
    Examination.objects.update(signed_at="2026-01-01T00:00Z", signed_name="Wren Vale")
    page = text_of(desk.get(reverse("desk:questions")))
    assert "Wren Vale signed this examination, so what is shown stays in it." in page
    assert "Take this instead" not in page
    assert "third answer" not in page
    assert "It could not be settled so." in text_of(settle(desk, question, answer="kept"))
    settle(desk, question, answer="shown")
    question.refresh_from_db()
    assert not question.is_open
    examination.refresh_from_db()
    assert examination.notes == "Flat"


def test_photographs_and_observations_of_both_sides_stay(desk):
    examination = ExaminationFactory()
    ada, bea = tablet("a", "Ada"), tablet("b", "Bea")
    for one, notes in ((ada, "Cockled"), (bea, "Flat")):
        one.push("examination", examination.pk, base=0, notes=notes)
        of_it = {"examination": str(examination.pk)}
        one.made("observation", term=TermFactory().pk, **of_it)
        one.made(
            "photograph", light="normal", sha256=notes[0].lower().encode().hex().zfill(64),
            size_bytes=10, content_type="image/jpeg", **of_it,
        )  # fmt: skip
    settle(desk, OpenQuestion.objects.get(), answer="kept")
    examination.refresh_from_db()
    assert examination.notes == "Cockled"
    assert examination.observations.filter(deleted_at=None).count() == 2
    assert examination.photographs.filter(deleted_at=None).count() == 2


def test_a_question_settled_otherwise_in_the_meantime_is_told(desk, head_desk, severity):
    settle(desk, severity, answer="kept")
    page = settle(head_desk, severity, answer="other", other="slight")
    assert "Somebody settled this otherwise in the meantime." in text_of(page)
    assert "Your answer was: Slight." in text_of(page)
    assert severity_now(severity) == "moderate"


def test_no_open_question_is_told_plainly(desk):
    assert "No question is open." in text_of(desk.get(reverse("desk:questions")))
