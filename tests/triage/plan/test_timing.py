"""When things are done, given who does what in which order."""

import random

import pytest

from survey.triage.plan.draft import Draft
from survey.triage.plan.measure import faults, measure, timed
from survey.triage.plan.problem import Pin
from tests.triage.plan.weeks import job, large, problem, worker

MAREN = worker("maren", 6, 0, 6, 6)
TEODOR = worker("teodor", 4, 4, 4, 4)


def test_work_goes_on_over_days_without_hours():
    placed = timed(problem([job("a", 4), job("b", 4)], MAREN), {"maren": ("a", "b")})
    assert placed is not None
    assert placed["b"].by_day() == [(0, 8), (2, 8)]
    assert (placed["b"].begins, placed["b"].done) == (0, 2)


def test_another_person_goes_on_the_next_day_and_the_same_person_at_once():
    week = problem([job("a", 2), job("b", 1, after=("a",))], MAREN, TEODOR)
    apart = timed(week, {"maren": ("a",), "teodor": ("b",)})
    together = timed(week, {"teodor": ("a", "b")})
    assert apart and together
    assert apart["b"].begins == 1 and together["b"].begins == 0


def test_a_pin_holds_work_back_until_its_day():
    week = problem([job("a", 2, pin=Pin("teodor", 2)), job("b", 5)], TEODOR)
    placed = timed(week, {"teodor": ("b", "a")})
    assert placed is not None
    assert placed["a"].begins == 2
    assert timed(problem([*week.jobs[:1], job("b", 13)], TEODOR), {"teodor": ("b", "a")}) is None


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("b", "a"), "work would come before what it waits for"),
        (("a", "a"), "twice"),
        (("a", "z"), "not in these weeks' work"),
        (("a", "g"), "Teodor cannot do “gild”"),
    ],
)
def test_a_plan_by_hand_is_looked_over(line, said):
    gilder = worker("gilder", 8, skills=("gild",))
    week = problem([job("a"), job("b", after=("a",)), job("g", skill="gild")], TEODOR, gilder)
    [fault] = faults(week, {"teodor": line})
    assert said in fault
    assert faults(week, {"teodor": ("a", "b"), "gilder": ("g",)}) == []


def test_setting_days_come_off_the_date():
    week = problem([job("a", 4, due=4, setting_days=3)], worker("m", 2, 2, 2))
    placed = timed(week, {"m": ("a",)})
    assert placed is not None and not placed["a"].is_late
    late = problem([job("a", 5, due=4, setting_days=3)], worker("m", 2, 2, 2))
    placed = timed(late, {"m": ("a",)})
    assert placed is not None and placed["a"].days_late == 1


@pytest.mark.parametrize("seed", range(6))
def test_a_draft_reckons_as_the_measure_does_whatever_is_moved(seed):
    week = large(seed, jobs=40, people=3, weeks=3, load=1.2)
    draft = Draft(week)
    for one in sorted(week.placeable, key=lambda job: week.depths[job.key]):
        for worker_of, _, line in draft.with_job(one):
            if draft.tried(worker_of.key, line) is not None:
                draft.set(worker_of.key, line)
                break
    draw = random.Random(seed)
    moved = 0
    for _ in range(300):
        key = draw.choice(list(draft.lines))
        line = list(draft.lines[key])
        if len(line) < 2:
            continue
        line.insert(draw.randrange(len(line)), line.pop(draw.randrange(len(line))))
        lines = draft.lines | {key: tuple(line)}
        placed = timed(week, lines)
        tried = draft.tried(key, tuple(line))
        assert (tried is None) == (placed is None)
        if placed is not None:
            present = {name for one in lines.values() for name in one}
            missing = sum(one.weight for one in week.placeable if one.key not in present)
            assert measure(week, lines).left_out == missing
            draft.set(key, tuple(line))
            assert draft.done == {name: one.done for name, one in placed.items()}
            moved += 1
    assert moved > 50
