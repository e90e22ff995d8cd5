"""The invented survey of the paper store."""

import pytest
from django.utils import timezone

from survey.collection.estimates import Sureness
from survey.collection.models import CollectionSurvey, Stop
from survey.collection.queries import State, parts_of, stands_of
from survey.collection.results import results_of
from survey.demo.museum.surveyed import MISSING, NUMBER, TROUBLES, WORK
from survey.demo.museum.works import works
from survey.demo.rows import write_museum
from survey.demo.services import OBJECTS, SEED
from survey.examination.models import Examination, Recommendation
from survey.sync.care import records
from survey.triage.gather import standings
from survey.vocabulary.models import Term

pytestmark = pytest.mark.django_db


@pytest.fixture
def survey() -> CollectionSurvey:
    write_museum(works(SEED, OBJECTS), [], timezone.now())
    return CollectionSurvey.objects.get()


def test_the_store_was_walked_to_the_end_and_what_was_missing_is_told(
    survey: CollectionSurvey,
) -> None:
    stands = stands_of(survey)
    assert len(stands) == NUMBER
    assert sum(stand.state is State.EXAMINED for stand in stands) == NUMBER - len(MISSING)
    assert sorted(stand.missing for stand in stands if stand.missing) == sorted(MISSING.values())
    parts = parts_of(stands)
    assert len(parts) == 3
    for part in parts:
        assert part.visit.started_at < timezone.now()
        assert [stand.place.order for stand in part.stands] == sorted(
            stand.place.order for stand in part.stands
        )


def test_it_tells_of_every_chest_and_rack(survey: CollectionSurvey) -> None:
    found = results_of(survey)
    assert [one.stratum.name for one in found.reached] == [
        *(f"Plan chest {number}" for number in range(1, 6)),
        *(f"Box rack {number}" for number in range(1, 7)),
    ]
    assert found.size > 1000
    assert len(found.damage) > 8
    assert found.hours.overall.estimate.value and found.boxes.overall.estimate.value
    good = next(line for line in found.grades if line.code == "good").overall.estimate
    assert good.sureness is Sureness.ESTIMATED
    # Chest 4 was wetted once.
    [tideline] = [line for line in found.damage if line.code == "tideline"]
    assert max(cell.having or 0 for cell in tideline.strata) == tideline.strata[3].having


def test_its_rows_are_logged_and_nothing_in_it_cannot_wait(survey: CollectionSurvey) -> None:
    assert not Stop.objects.filter(revision=0).exists()
    assert not Examination.objects.filter(revision=0).exists()
    assert list(records.faults(lambda done: None)) == []
    assert not any(standing.hazards for standing in standings(timezone.localdate()))
    for one in Recommendation.objects.all():
        one.full_clean()


def test_its_words_are_of_the_vocabulary() -> None:
    codes = {trouble.term for trouble in TROUBLES}
    assert set(WORK) <= codes
    assert Term.objects.filter(code__in=codes, hazards=[]).count() == len(codes)
