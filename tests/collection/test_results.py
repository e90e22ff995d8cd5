"""What the signed examinations of a sample tell of the store."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from survey.collection.estimates import Counted, Measured, Sureness, share_of, total_of
from survey.collection.models import CollectionSurvey
from survey.collection.queries import Plan
from survey.collection.results import Results, results_of
from survey.collection.services import draw_survey, hand_out, say_missing
from tests.collection.store import examine, examine_on, handed_out, small_store
from tests.factories import AmendmentFactory, PersonFactory, VisitFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def survey() -> CollectionSurvey:
    """Twelve of the forty objects of two rooms, handed out."""
    small_store()
    person = PersonFactory()
    plan = Plan(divided_by="room", margin_points=None, number=12, objects_a_box=4)
    drawn = draw_survey(plan, name="Two rooms", person=person, seed=3)
    hand_out(drawn, person=person, to=person, number=12)
    return drawn


def line(lines, code):
    return next(one for one in lines if one.code == code)


def walked(survey: CollectionSurvey) -> Results:
    """West room: five good, one poor. East room: two poor, one ungraded, three good."""
    west = [place for place in handed_out(survey) if place.stratum.name == "West room"]
    east = [place for place in handed_out(survey) if place.stratum.name == "East room"]
    for place in west[:5]:
        examine(place, grade="good", features=("plate-mark",), nothing_seen=False)
    examine(
        west[5], grade="poor", damage=("tear", "foxing"), work=(("treat", 4.0), ("rehouse", 0.5))
    )
    for place in east[:2]:
        examine(place, grade="poor", damage=("tear",), work=(("treat", 2.0), ("monitor", None)))
    examine(east[2], grade="", unsure=("foxing",), work=(("rehouse", 1.0),))
    for place in east[3:]:
        examine(place, grade="good")
    return results_of(survey)


def test_shares_are_those_of_the_strata_put_together(survey: CollectionSurvey) -> None:
    found = walked(survey)
    assert (found.size, found.drawn, found.seen, found.missing, found.waiting) == (40, 12, 12, 0, 0)
    poor = line(found.grades, "poor")
    assert poor.overall.estimate == share_of([Counted(20, 6, 1), Counted(20, 6, 2)])
    assert [cell.estimate for cell in poor.strata] == [
        share_of([Counted(20, 6, 1)]),
        share_of([Counted(20, 6, 2)]),
    ]
    assert (poor.overall.having, poor.overall.seen, poor.overall.size) == (3, 12, 40)
    assert [one.name for one in found.grades] == ["Good", "Fair", "Poor", "Unstable", "Not graded"]
    assert sum(one.overall.estimate.value or 0 for one in found.grades) == pytest.approx(1)
    # None was seen; that is not none in the store.
    assert line(found.grades, "unstable").overall.estimate.high > 0


def test_damage_features_and_what_is_undecided_are_told_apart(survey: CollectionSurvey) -> None:
    found = walked(survey)
    assert [(one.code, one.overall.having) for one in found.damage] == [("tear", 3), ("foxing", 1)]
    assert [(one.code, one.overall.having) for one in found.features] == [("plate-mark", 5)]
    assert found.undecided == 1


def test_hours_are_summed_over_an_objects_work_and_boxes_follow_the_rule(
    survey: CollectionSurvey,
) -> None:
    found = walked(survey)
    west, east = (0.0,) * 5 + (4.5,), (2.0, 2.0, 1.0, 0.0, 0.0, 0.0)
    assert found.hours.overall.estimate == total_of([Measured(20, west), Measured(20, east)])
    assert found.hours.overall.estimate.value == pytest.approx(20 * 4.5 / 6 + 20 * 5 / 6)
    assert found.unpriced == 2
    rehouse = share_of([Counted(20, 6, 1), Counted(20, 6, 1)])
    assert found.rehouse.overall.estimate == rehouse
    assert found.boxes.overall.estimate.value == 2  # 40/6 objects, four to a box.
    assert found.boxes.overall.estimate.low == 1
    assert found.boxes.overall.estimate.high == -(-rehouse.high * 40 // 4)


def test_amendments_count(survey: CollectionSurvey) -> None:
    place = handed_out(survey)[0]
    made = examine(place, grade="fair", damage=("tear",), work=(("treat", 2.0),))
    seen, work = made.observations.get(), made.recommendations.get()
    for subject, field, after in (
        ("examination", "grade", "poor"),
        (f"observation:{seen.pk}", "nature", "feature"),
        (f"recommendation:{work.pk}", "hours", 7.5),
        (f"recommendation:{work.pk}", "kind_of_work", "rehouse"),
        (f"recommendation:{work.pk}", "hours", True),
    ):
        AmendmentFactory(examination=made, subject=subject, field=field, after=after)
    found = results_of(survey)
    assert line(found.grades, "poor").overall.having == 1
    assert (found.damage, [one.code for one in found.features]) == ((), ["tear"])
    assert found.rehouse.overall.having == 1


def test_only_signed_examinations_made_on_its_walks_count(survey: CollectionSurvey) -> None:
    first, second, third = handed_out(survey)[:3]
    examine(first, signed=False)
    examine_on(VisitFactory(), second.object)
    examine(third, deleted_at=timezone.now())
    assert results_of(survey).seen == 0


def test_the_latest_signed_examination_of_an_object_counts(survey: CollectionSurvey) -> None:
    place = handed_out(survey)[0]
    now = timezone.now()
    examine(place, grade="poor", started_at=now)
    examine(place, grade="good", started_at=now - timedelta(days=1))
    examine(place, grade="good", started_at=now + timedelta(hours=1), signed=False)
    found = results_of(survey)
    assert found.seen == 1
    assert line(found.grades, "poor").overall.having == 1


def test_missing_ones_are_counted_and_never_dropped(survey: CollectionSurvey) -> None:
    west = [place for place in handed_out(survey) if place.stratum.name == "West room"]
    for place in west[:5]:
        examine(place, grade="good")
    say_missing(west[5], person=PersonFactory(), why="Not in the drawer.")
    found = results_of(survey)
    assert (found.seen, found.missing, found.waiting) == (5, 1, 6)
    assert [(one.drawn, one.seen, one.missing) for one in found.reached] == [(6, 5, 1), (6, 0, 0)]
    good = line(found.grades, "good")
    # Of five, not of six; and nothing speaks for the room that was not reached.
    assert good.overall.estimate == share_of([Counted(20, 5, 5)])
    assert good.overall.size == 20
    assert good.strata[1].estimate.sureness is Sureness.NONE_SEEN
    assert found.not_reached == ["East room"]


def test_before_anything_is_signed_nothing_is_estimated(survey: CollectionSurvey) -> None:
    found = results_of(survey)
    assert found.seen == 0 and not found.damage
    for one in (*found.grades, found.hours, found.rehouse, found.boxes):
        assert one.overall.estimate.sureness is Sureness.NONE_SEEN


def test_the_number_of_queries_does_not_grow_with_the_sample(survey: CollectionSurvey) -> None:
    places = handed_out(survey)
    examine(places[0], damage=("tear",), work=(("treat", 1.0),))
    with CaptureQueriesContext(connection) as few:
        results_of(survey)
    for place in places[1:]:
        examine(place, damage=("tear",), work=(("treat", 1.0),))
    with CaptureQueriesContext(connection) as many:
        results_of(survey)
    assert len(few) == len(many) <= 7
