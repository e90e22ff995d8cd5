"""Trying weights before they are saved, and what saving does."""

from datetime import date

import pytest
from django.urls import reverse

from survey.triage.models import Weights
from tests.desk.conftest import text_of
from tests.factories import NeedFactory, RecommendationFactory, examined

pytestmark = pytest.mark.django_db

WEIGHTS = "desk:weights"
RISK_ALONE = {"risk": 1, "loss": 0, "significance": 0, "need": 0, "readiness": 0}
NEED_ALONE = {"risk": 0, "loss": 0, "significance": 0, "need": 1, "readiness": 0}


@pytest.fixture
def two_rows():
    """One that stands first by risk, one that stands first by need."""
    Weights.objects.create(**RISK_ALONE)
    worn = RecommendationFactory(examination=examined(grade="unstable"))
    wanted = RecommendationFactory(examination=examined(grade="good"))
    NeedFactory(object=wanted.examination.object, kind="loan", due=date(2020, 1, 1))
    return worn, wanted


def places(client) -> dict[object, int]:
    page = client.get(reverse("desk:queue"))
    return {
        placed.row.recommendation.pk: placed.place
        for section in page.context["sections"]
        for placed in section.rows
    }


def test_the_preview_tells_old_and_new_places_and_saves_nothing(head_desk, two_rows):
    page = text_of(head_desk.get(reverse("desk:weights-preview"), NEED_ALONE))
    assert "2 pieces of work would change place. Nothing is saved yet." in page
    assert "2 1 ▲ up 1" in page and "1 2 ▽ down 1" in page
    assert Weights.objects.count() == 1


def test_without_scripts_the_page_itself_shows_the_preview(head_desk, two_rows):
    page = text_of(head_desk.get(reverse(WEIGHTS), NEED_ALONE))
    assert "2 pieces of work would change place" in page


def test_the_preview_equals_what_saving_brings(head_desk, two_rows):
    shifts = head_desk.get(reverse("desk:weights-preview"), NEED_ALONE).context["shifts"]
    foretold = {shift.row.recommendation.pk: shift.new_place for shift in shifts}
    answer = head_desk.post(reverse(WEIGHTS), NEED_ALONE | {"reason": "Two loans this spring"})
    assert answer.status_code == 302
    assert places(head_desk) == foretold


def test_weights_in_the_same_proportion_move_nobody(head_desk, two_rows):
    page = text_of(head_desk.get(reverse("desk:weights-preview"), RISK_ALONE | {"risk": 50}))
    assert "Nobody would change place." in page


def test_versions_are_kept_with_who_and_why(head_desk):
    for reason in ("First thought", "Second thought"):
        head_desk.post(reverse(WEIGHTS), RISK_ALONE | {"reason": reason})
    page = text_of(head_desk.get(reverse(WEIGHTS)))
    assert page.index("Second thought") < page.index("First thought")
    assert page.count("Holds now") == 1
    assert "Ottilie Crane" in page


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        (dict.fromkeys(RISK_ALONE, 0) | {"reason": "None"}, "All weights are zero"),
        (RISK_ALONE | {"reason": ""}, "Say in a few words why"),
        (RISK_ALONE | {"risk": "much", "reason": "Words"}, "Give a whole number."),
        (RISK_ALONE | {"risk": -3, "reason": "Below"}, "Give 0 or more."),
        (RISK_ALONE | {"risk": 4000, "reason": "Above"}, "A weight is at most 1000"),
    ],
)
def test_wrong_weights_get_a_sentence_and_keep_what_was_typed(head_desk, values, sentence):
    answer = head_desk.post(reverse(WEIGHTS), values)
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert f'value="{values["risk"]}"' in answer.content.decode()
    assert not Weights.objects.exists()


def test_a_preview_of_zero_weights_says_what_to_do(head_desk):
    page = text_of(head_desk.get(reverse("desk:weights-preview"), dict.fromkeys(RISK_ALONE, 0)))
    assert "Give at least one part a weight above zero." in page


def test_a_conservator_tries_weights_but_has_nothing_to_save_with(desk, two_rows):
    page = text_of(desk.get(reverse(WEIGHTS), NEED_ALONE))
    assert "2 pieces of work would change place" in page
    assert "Save these weights" not in page
