"""What is wrong with the input of a plan, each in a sentence."""

import math

import pytest

from survey.triage.plan.problem import Job, Pin, Worker, WrongInput, check, estimate_trouble
from tests.triage.plan.weeks import MONDAY, job, problem, worker

MAREN = worker("maren", 7, 7, 0, 7)


def sentences(*jobs: Job, workers: tuple[Worker, ...] = (MAREN,)) -> list[str]:
    with pytest.raises(WrongInput) as wrong:
        check(problem(list(jobs), *workers))
    return [trouble.sentence for trouble in wrong.value.troubles]


def test_a_sound_week_passes():
    check(problem([job("a", 2, due=3), job("b", 1, after=("a",), pin=Pin("maren", 1))], MAREN))


def test_no_hours_are_told_for_one_person_and_for_all():
    idle = worker("teodor", 0, 0, 0, 0)
    [one] = sentences(job("a"), workers=(MAREN, idle))
    assert one.startswith("Teodor has no hours set in these weeks.")
    assert "Nobody has any hours" in sentences(job("a"), workers=(idle,))[1]
    assert "Nobody has any hours" in sentences(job("a"), workers=())[0]


def test_a_person_without_a_skill_is_told():
    [one] = sentences(job("a"), workers=(MAREN, worker("ruth", 7, skills=())))
    assert one.startswith("Ruth has no skill")


def test_a_date_that_has_passed_is_told_with_the_date():
    [one] = sentences(job("a", due=-3))
    assert one == (
        "A: its date, 1 May 2026, has passed. Give it a new date, or take the date away."
    )


def test_a_circle_is_told_with_its_chain():
    circle = [job("a", after=("b",)), job("b", after=("c",)), job("c", after=("a",)), job("d")]
    [one] = sentences(*circle)
    assert one.startswith("These wait for each other in a circle: ")
    assert any(
        f"{x} waits for {y} waits for {z} waits for {x}." in one
        for x, y, z in ("ABC", "BCA", "CAB")
    )
    assert "in a circle: A waits for A." in sentences(job("a", after=("a",)))[0]


def test_waiting_for_work_that_is_not_there_is_told():
    assert "waits for work that is not in the plan" in sentences(job("a", after=("z",)))[0]


@pytest.mark.parametrize(
    ("low", "likely", "high", "said"),
    [
        (4, 3, 2, "the high estimate, 2 h, is less than the low one, 4 h"),
        (1, 5, 4, "the likely estimate, 5 h, does not lie between"),
        (3, 2, 4, "the likely estimate, 2 h, does not lie between"),
        (0, 0, 0, "has no hours in it"),
        (-1, 1, 2, "has no hours in it"),
        (math.nan, 1, 2, "is no number of hours"),
        (1, 1, math.inf, "is no number of hours"),
        (None, None, None, "no hours are estimated"),
    ],
)
def test_an_estimate_that_cannot_be_is_told(low, likely, high, said):
    assert said in estimate_trouble(low, likely, high)


def test_an_estimate_is_checked_in_a_problem_too():
    wrong = Job("a", "PE.1987.3, treat", "treat", low=3, likely=2, high=1)
    assert sentences(wrong)[0].startswith("PE.1987.3, treat: the high estimate, 1 h")


@pytest.mark.parametrize(
    ("pin", "said"),
    [
        (Pin("nobody", 0), "pinned to somebody who is not here"),
        (Pin("maren", 2), "pinned to Maren on Wednesday 6 May, when they have no hours"),
        (Pin("maren", 9), "which is not in these weeks"),
        (Pin("teodor", 0), "pinned to Teodor, who cannot do “frame”"),
    ],
)
def test_a_pin_that_cannot_be_is_told(pin, said):
    teodor = worker("teodor", 7, 7, 7, 7, skills=("treat",))
    framer = worker("framer", 7, 7, 7, 7, skills=("frame",))
    skill = "frame" if pin.worker == "teodor" else "treat"
    [one] = sentences(job("a", skill=skill, pin=pin), workers=(MAREN, teodor, framer))
    assert said in one and "Take the pin away" in one


def test_what_nobody_can_do_is_told_and_the_rest_is_planned():
    week = problem([job("a"), job("b", skill="gild"), job("c", after=("b",))], MAREN)
    check(week)
    assert [one.key for one in week.placeable] == ["a"]
    assert (
        "B cannot be placed: nobody who has hours in these weeks can do “gild”"
        in (week.unplaceable["b"])
    )
    assert "C cannot be placed: it waits for B" in week.unplaceable["c"]


def test_hours_become_whole_quarters_rounded_up():
    assert [job("a", hours).quarters for hours in (0.25, 0.26, 1, 1.1)] == [1, 2, 4, 5]


def test_a_late_hazard_costs_more_than_all_else_together():
    jobs = [job(f"j{n}", weight=900, due=1) for n in range(5)] + [
        job("h", weight=1, due=1, is_hazard=True)
    ]
    costs = problem(jobs, MAREN).late_costs
    assert costs["h"] > sum(cost for key, cost in costs.items() if key != "h")


def test_days_count_from_the_first():
    assert problem([], MAREN).date_of(3) == MONDAY.replace(day=7)


def test_what_somebody_took_on_is_theirs_alone():
    teodor = worker("teodor", 7, 7, 7, 7)
    jobs = [job("a", whose="teodor", pin=Pin("maren", 0))]
    assert "but somebody else took it on" in sentences(*jobs, workers=(MAREN, teodor))[0]
    idle = worker("teodor", 0, 0, 0, 0)
    week = problem([job("a", whose="teodor")], MAREN, idle)
    assert "whoever took it on has no hours" in week.unplaceable["a"]
