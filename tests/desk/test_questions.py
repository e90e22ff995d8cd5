"""Open questions: both values are shown, and a person settles which stands."""

from typing import Any

import pytest
from django.urls import reverse

from survey.sync.models import Change, OpenQuestion
from tests.desk.conftest import text_of
from tests.factories import DeviceFactory, ExaminationFactory, ObservationFactory, TermFactory
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
    from survey.examination.models import Observation

    return Observation.objects.get(pk=question.entity_id).severity


def settle(client, question, **answer):
    return client.post(reverse("desk:settle", args=[question.pk]), answer, follow=True)


def test_both_values_are_shown_with_who_and_when(desk, severity):
    page = text_of(desk.get(reverse("desk:questions")))
    assert "Long tear: severity Harbour wall" in page
    assert "Shown in the record Severe Bea Vale, " in page
    assert "Kept beside it Moderate Ada Vale, " in page


def test_the_question_stands_on_the_object_and_the_examination(desk, severity):
    from survey.examination.models import Observation

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


def test_lists_are_settled_by_one_of_the_two_values_only(desk):
    question = disagree("observation", ObservationFactory(), lights=(["raking"], ["normal"]))
    page = desk.get(reverse("desk:questions"))
    assert "Raking light" in text_of(page)
    assert "third answer" not in text_of(page)
    settle(desk, question, answer="other", other="ultraviolet")
    question.refresh_from_db()
    assert question.is_open


def test_a_question_settled_otherwise_in_the_meantime_is_told(desk, head_desk, severity):
    settle(desk, severity, answer="kept")
    page = settle(head_desk, severity, answer="other", other="slight")
    assert "Somebody settled this otherwise in the meantime." in text_of(page)
    assert severity_now(severity) == "moderate"


def test_no_open_question_is_told_plainly(desk):
    assert "No question is open." in text_of(desk.get(reverse("desk:questions")))
