"""Two people at one object on one day."""

from survey.triage.plan.by_hand import plan_by_hand
from survey.triage.plan.measure import timed
from survey.triage.plan.shared import shared_days
from tests.triage.plan.weeks import job, problem, small, worker

WEEK = problem(
    [
        job("a", 3),
        job("b", 2, skill="rehouse"),
        job("c", 2, skill="rehouse"),
    ],
    worker("m", 2, 2, 2),
    worker("w", 2, 0, 2, skills=("rehouse",)),
)
ORDERS = {"m": ("a",), "w": ("b", "c")}


def told(objects):
    schedule = timed(WEEK, ORDERS)
    assert schedule is not None
    return [
        (one.day, one.object, [placed.job.key for placed in one.work])
        for one in shared_days(schedule, objects)
    ]


def test_two_people_at_one_object_on_one_day_are_told():
    assert told({"a": ["P"], "b": ["P"], "c": ["P"]}) == [(0, "P", ["a", "b"])]


def test_one_person_alone_or_on_other_days_is_nothing_to_tell():
    assert told({"b": ["P"], "c": ["P"]}) == []
    assert told({"a": ["P"], "c": ["P"]}) == []
    assert told({"a": ["P"], "b": ["Q"]}) == []


def test_of_a_bundle_every_object_counts():
    assert told({"a": ["P", "Q"], "b": ["Q", "R"]}) == [(0, "Q", ["a", "b"])]


def test_it_tells_all_such_days_of_small_plans_and_no_other():
    """Against every pair of pieces of work on every day."""
    seen = 0
    for seed in range(300):
        week = small(seed)
        try:
            schedule = timed(week, plan_by_hand(week))
        except ValueError:
            continue
        assert schedule is not None
        objects = {one.key: [str(number % 2)] for number, one in enumerate(week.jobs)}
        expected = {
            (day, objects[one.job.key][0])
            for one in schedule.values()
            for other in schedule.values()
            for day, _ in one.by_day()
            if one.worker is not other.worker
            and objects[one.job.key] == objects[other.job.key]
            and day in dict(other.by_day())
        }
        assert {(one.day, one.object) for one in shared_days(schedule, objects)} == expected
        seen += bool(expected)
    assert seen > 10
