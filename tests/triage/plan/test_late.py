"""What is late, and ways out that hold when they are taken."""

from dataclasses import replace

import pytest

from survey.triage.plan.late import Late, Way, what_is_late
from survey.triage.plan.measure import timed
from survey.triage.plan.problem import Problem
from survey.triage.plan.solve import least_late, solve
from tests.triage.plan.weeks import job, large, problem, worker


def late_in(week: Problem) -> list[Late]:
    return what_is_late(week, solve(week).orders, least_late)


def test_the_least_of_each_kind_is_told():
    week = problem(
        [job("a", 4, weight=5, due=1), job("b", 3, weight=2, due=1)],
        worker("maren", 3, 3, 3),
        worker("teodor", 3, 3, 3, skills=("frame",)),
    )
    [one] = late_in(week)
    # Seven hours are wanted by Tuesday, and six are there.
    assert (one.job.key, one.days) == ("b", 1)
    assert one.ways == (
        Way("hours", 4, "maren", True),
        Way("person", 0, "teodor"),
        Way("scope", 4, "", True),
        Way("date", 1, "", True),
    )


def test_each_way_out_holds_when_it_is_taken():
    found = 0
    for seed in range(3):
        week = large(seed, jobs=9, people=2, weeks=2, load=1.8, dated=0.8)
        solved = solve(week)
        for one in what_is_late(week, solved.orders, least_late):
            for way in one.ways:
                changed = taken(week, one, way)
                again = solve(changed)
                assert again.measure.late <= solved.measure.late - week.late_costs[one.job.key]
                found += 1
                if way.is_least and way.amount > 1:
                    short = solve(taken(week, one, replace(way, amount=way.amount - 1)))
                    assert short.measure.late > solved.measure.late - week.late_costs[one.job.key]
    assert found > 5


def taken(week: Problem, late: Late, way: Way) -> Problem:
    """The week with a way out taken, spelt out here anew."""
    if way.kind == "hours":
        day = late.job.last_day
        assert day is not None
        workers = [
            replace(
                one,
                quarters=tuple(
                    quarters + (way.amount if at == day else 0)
                    for at, quarters in enumerate(one.quarters)
                ),
            )
            if one.key == way.worker
            else one
            for one in week.workers
        ]
        return replace(week, workers=tuple(workers))
    if way.kind == "person":
        workers = [
            replace(one, skills=one.skills | {late.job.skill}) if one.key == way.worker else one
            for one in week.workers
        ]
        return replace(week, workers=tuple(workers))
    if way.kind == "date":
        changed = replace(late.job, due=(late.job.due or 0) + way.amount)
    elif way.kind == "hold":
        changed = replace(late.job, not_before=late.job.not_before - way.amount)
    else:
        hours = late.job.quarters / 4 - way.amount / 4
        changed = replace(late.job, likely=hours, low=0)
    return replace(week, jobs=tuple(changed if one is late.job else one for one in week.jobs))


def test_a_hold_that_makes_it_late_may_end_sooner():
    week = problem([job("a", 3, due=2, not_before=3)], worker("m", 2, 2, 2, 2, 2))
    [one] = late_in(week)
    # Three hours need two days, of which the second is its last.
    assert one.ways == (Way("hold", 2, "", True), Way("date", 2, "", True))
    [one] = late_in(replace(week, today=2))
    assert "hold" not in [way.kind for way in one.ways], "no day before today is offered"


def test_what_does_not_fit_at_all_is_late_without_days():
    week = problem([job("a", 5, due=1)], worker("m", 2, 2))
    [one] = late_in(week)
    assert one.days is None
    assert one.ways[0] == Way("hours", 4, "m", True)


def test_only_days_with_hours_count_as_days_late():
    week = problem([job("a", 3, due=0)], worker("m", 2, 0, 0, 2))
    placed = timed(week, solve(week).orders)
    assert placed is not None and placed["a"].days_late == 3
    assert late_in(week)[0].days == 1


def test_without_a_solver_ways_are_found_but_not_said_to_be_least():
    week = problem([job("a", 3, due=0)], worker("m", 2, 2))
    [one] = what_is_late(week, solve(week).orders)
    assert [way.kind for way in one.ways] == ["hours", "scope", "date"]
    assert not any(way.is_least for way in one.ways)


def test_a_plan_that_cannot_be_kept_is_refused():
    week = problem([job("a"), job("b", after=("a",))], worker("m", 4))
    with pytest.raises(ValueError, match="cannot be kept"):
        what_is_late(week, {"m": ("b", "a")})
