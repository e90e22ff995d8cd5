"""Making week plans of the record: what goes in, who may, pins, and without the solver."""

import sys
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from survey.access.models import AuditEntry, Person
from survey.loans.models import Loan, LoanedObject
from survey.triage import holding, planning, staffing
from survey.triage.load import working_hours
from survey.triage.models import Absence, Estimate, Pin, WeekPlan
from survey.triage.week import DAYS
from tests.factories import (
    LoanedObjectFactory,
    LoanFactory,
    NeedFactory,
    ObservationFactory,
    RecommendationFactory,
    TermFactory,
)

pytestmark = pytest.mark.django_db

# A Wednesday.
TODAY = date(2026, 5, 6)


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "localdate", lambda *_: TODAY)


@pytest.fixture
def staffed(head: Person, conservator: Person) -> Person:
    """The conservator works four hours a day on five days, and treats paper."""
    set_hours(conservator, head, 4)
    staffing.set_skills(conservator, person=head, skills=[("paper", "treat")])
    staffing.set_skills(head, person=head, skills=[("paper", "treat")])
    return conservator


def set_hours(of: Person, head: Person, hours: float) -> None:
    week = {day: hours if day not in ("saturday", "sunday") else 0.0 for day in DAYS}
    staffing.set_week(of, person=head, hours=week)


def jobs() -> dict[str, Any]:
    given = planning.input_now()
    return {given.rows[job.key].object.accession_number: job for job in given.problem.jobs}


def sentences() -> list[str]:
    return [trouble.sentence for trouble in planning.input_now().troubles]


def test_a_plan_is_made_of_the_board_and_kept(work, head, staffed):
    work("A", hours=3.0)
    work("B", grade="poor", hours=6.0)
    plan = planning.make(head)
    assert (plan.state, plan.sentence) == ("done", "")
    assert plan.result is not None
    assert plan.result["first_day"] == "2026-05-04"
    [line] = [line for line in plan.result["orders"].values() if line]
    assert len(line) == 2 and plan.result["by"] == "solver" and plan.bound == 0
    first = next(one for one in plan.result["work"] if one["key"] == line[0])
    # Monday and Tuesday have passed.
    assert first["begins"] == 2
    assert planning.holding() == plan
    assert plan.rests_on == planning.input_now().digest
    assert AuditEntry.objects.get(action="week plan made").person == head


def test_the_same_record_gives_the_same_plan(four, head, staffed):
    orders = [planning.orders_of(planning.make(head)) for _ in range(2)]
    assert orders[0] == orders[1] and any(orders[0].values())


def test_dates_come_from_needs_and_from_loans_that_begin(work, head, staffed):
    wanted, lent, away = (work(number, hours=2.0) for number in "ABC")
    NeedFactory(object=wanted.examination.object, title="Ink", due=TODAY + timedelta(days=9))
    for number, first in ((lent, 12), (away, -3)):
        loan = Loan.objects.create(
            reference=f"L.{first}",
            title="Coasts",
            borrower="Northmere Hall",
            first_day=TODAY + timedelta(days=first),
            last_day=TODAY + timedelta(days=90),
        )
        LoanedObject.objects.create(loan=loan, object=number.examination.object)
    found = jobs()
    # Day 2 of the plan is today. What has left on loan has no such date any more.
    assert [found[number].due for number in "ABC"] == [11, 14, None]
    assert found["A"].project == "Exhibition “Ink”"
    staffing.set_estimate(wanted.pk, person=head, low=1, likely=2, high=5, setting_days=4)
    assert jobs()["A"].last_day == 7


def test_importance_is_the_score_on_top_of_being_late_and_hazards_are_told_apart(work, staffed):
    work("A", hours=1.0)
    urgent = work("B", hours=1.0)
    ObservationFactory(
        examination=urgent.examination,
        term=TermFactory(code="active-mould-here", hazards=["active-mould"]),
    )
    found = jobs()
    assert 500 < found["A"].weight <= 1500
    assert (found["A"].is_hazard, found["B"].is_hazard) == (False, True)


def test_what_is_wrong_is_told_and_all_else_is_planned(work, head, conservator, staffed):
    work("A", hours=None)
    work("B", kind="rehouse", hours=1.0)
    late = work("C", hours=1.0)
    NeedFactory(object=late.examination.object, title="Ink", due=TODAY - timedelta(days=1))
    work("D", hours=1.0)
    said = sentences()
    assert any("A, treat: no hours are estimated" in one for one in said)
    assert any("Exhibition “Ink”, 5 May 2026, has passed" in one for one in said)
    assert any(one.startswith("Ottilie Crane has no hours set") for one in said)
    plan = planning.make(head)
    assert plan.result is not None
    names = {one["name"] for one in plan.result["work"]}
    assert {"C, treat", "D, treat"} <= names
    assert [one["name"] for one in plan.result["late"]] == ["C, treat"]
    [sentence] = plan.result["unplaced"].values()
    assert "cannot be placed: nobody who has hours" in sentence


def test_a_person_without_a_skill_is_told(head, conservator):
    set_hours(conservator, head, 4)
    assert any("Wren Halloway has no skill" in one for one in sentences())


def test_nobody_with_hours_is_told_and_no_plan_is_lost(work, head, conservator):
    work("A", hours=1.0)
    plan = planning.make(head)
    assert plan.state == WeekPlan.State.FAILED
    assert plan.sentence == (
        "Nobody has any hours in these weeks. Set hours for at least one person."
    )
    assert planning.holding() is None


def test_estimates_that_cannot_be_are_refused(work, head):
    one = work("A", hours=2.0)
    with pytest.raises(ValidationError, match="The high estimate, 1 h, is less than the low one"):
        staffing.set_estimate(one.pk, person=head, low=3, likely=2, high=1)
    assert not Estimate.objects.exists()


def test_work_does_not_wait_for_itself_by_way_of_others(four, head, staffed):
    a, b, c, _ = (one.pk for one in four)
    staffing.set_estimate(b, person=head, low=1, likely=1, high=1, after=a)
    staffing.set_estimate(c, person=head, low=1, likely=1, high=1, after=b)
    with pytest.raises(ValidationError, match="wait for each other in a circle"):
        staffing.set_estimate(a, person=head, low=1, likely=1, high=1, after=c)
    assert jobs()["C"].after == (str(b),)


def test_a_hold_for_other_work_is_waiting_and_a_hold_until_a_day_a_first_day(four, head, staffed):
    a, b, c, _ = (one.pk for one in four)
    later = TODAY + timedelta(days=30)
    holding.hold(b, person=head, reason="After the first", until=later, after=a)
    holding.hold(c, person=head, reason="The press is away", until=later)
    found = jobs()
    assert found["B"].after == (str(a),) and found["B"].not_before == 0
    # Day 2 of the plan is today.
    assert found["C"].not_before == 32
    assert planning.input_now().held == ()
    plan = planning.make(head)
    assert plan.result is not None
    days = {one["key"]: one["begins"] for one in plan.result["work"]}
    assert days[str(c)] >= 32 and days[str(a)] < 32


def test_work_on_what_is_out_on_a_loan_is_told_unless_held_until_it_is_back(four, head, staffed):
    a, b, *_ = four
    loan = LoanFactory(reference="L.7", last_day=TODAY + timedelta(days=20))
    for one in (a, b):
        LoanedObjectFactory(loan=loan, object=one.examination.object)
    holding.hold(b.pk, person=head, reason="On loan", until=loan.last_day)
    [told] = [one for one in planning.input_now().troubles if one.about == "loan"]
    assert told.job == str(a.pk)
    assert told.sentence.startswith(
        "A, treat: the object is on loan L.7 until 26 May 2026. The work is"
    )


def test_what_is_held_beyond_the_weeks_is_not_planned_nor_what_waits_for_it(four, head, staffed):
    a, b, c, d = (one.pk for one in four)
    first_after = date(2026, 6, 15)
    holding.hold(a, person=head, reason="On loan", until=first_after)
    holding.hold(b, person=head, reason="After the first", until=first_after, after=a)
    staffing.set_estimate(c, person=head, low=1, likely=1, high=1, after=b)
    holding.hold(d, person=head, reason="Paint", until=first_after - timedelta(days=1))
    assert list(jobs()) == ["D"] and jobs()["D"].not_before == 41
    held = planning.input_now().held
    assert [one.row.key for one in held] == [a, b, c]
    assert [[row.key for row in one.waits_for] for one in held] == [[], [a], [b]]
    with pytest.raises(ValidationError, match="it is held until after these weeks"):
        planning.pin(a, person=head, to=staffed, day=TODAY)
    with pytest.raises(ValidationError, match="but held until Sunday 14 June"):
        planning.pin(d, person=head, to=staffed, day=TODAY)


def test_a_pin_is_kept_and_the_plan_fitted_again(four, head, staffed):
    planning.make(head)
    friday = TODAY + timedelta(days=2)
    planning.pin(four[3].pk, person=head, to=staffed, day=friday)
    plan = planning.make(head, refit=True)
    assert plan.state == "done" and plan.is_refit and plan.result is not None
    one = next(one for one in plan.result["work"] if one["key"] == str(four[3].pk))
    assert (one["person"], one["begins"]) == (str(staffed.pk), 4)
    planning.unpin(four[3].pk, person=head)
    ended = Pin.objects.get()
    assert ended.ended_by == head
    with pytest.raises(ValidationError, match="not pinned"):
        planning.unpin(four[3].pk, person=head)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (3, "when they have no hours"),
        (-1, "has passed"),
        (400, "which is not in these weeks"),
    ],
)
def test_a_pin_that_cannot_be_is_refused_in_a_sentence(four, head, staffed, days, said):
    with pytest.raises(ValidationError, match=said):
        planning.pin(four[0].pk, person=head, to=staffed, day=TODAY + timedelta(days=days))
    assert not Pin.objects.exists()


def test_pins_that_collide_are_refused(work, head, staffed):
    first, second = work("A", hours=4.0), work("B", hours=4.0)
    planning.pin(first.pk, person=head, to=staffed, day=TODAY)
    with pytest.raises(ValidationError, match="cannot begin on Wednesday 6 May"):
        planning.pin(second.pk, person=head, to=staffed, day=TODAY)
    assert Pin.objects.count() == 1


def test_absences_take_hours_away(work, head, conservator, staffed):
    before = working_hours([conservator], TODAY, 1)[conservator.pk]
    staffing.add_absence(
        conservator, person=conservator, first_day=TODAY, last_day=TODAY + timedelta(days=1)
    )
    assert working_hours([conservator], TODAY, 1)[conservator.pk] == before - 8
    with pytest.raises(ValidationError, match="before it begins"):
        staffing.add_absence(
            conservator, person=head, first_day=TODAY, last_day=TODAY - timedelta(days=1)
        )
    staffing.remove_absence(Absence.objects.get(), person=conservator)
    assert not Absence.objects.exists()


def test_only_the_head_plans_and_sets_hours(four, head, conservator, courier):
    attempts = [
        lambda: planning.make(conservator),
        lambda: planning.pin(four[0].pk, person=conservator, to=conservator, day=TODAY),
        lambda: planning.unpin(four[0].pk, person=conservator),
        lambda: set_hours(conservator, conservator, 4),
        lambda: staffing.set_skills(conservator, person=conservator, skills=[]),
        lambda: staffing.add_absence(head, person=conservator, first_day=TODAY, last_day=TODAY),
        lambda: staffing.set_estimate(four[0].pk, person=courier, low=1, likely=1, high=1),
    ]
    for attempt in attempts:
        with pytest.raises(PermissionDenied):
            attempt()
    assert not WeekPlan.objects.exists()


def test_it_works_by_hand_where_the_solver_is_absent(four, head, staffed, monkeypatch):
    blocked = [name for name in sys.modules if name.split(".")[0] == "ortools"]
    for name in (*blocked, "ortools", "survey.triage.plan.solve", "survey.triage.plan.model"):
        monkeypatch.setitem(sys.modules, name, None)
    assert not planning.has_solver()
    plan = planning.make(head)
    assert plan.state == "done" and plan.result is not None
    assert plan.result["by"] == "hand" and plan.bound is None
    planning.pin(four[3].pk, person=head, to=staffed, day=TODAY)
    again = planning.make(head, refit=True)
    assert again.result is not None
    one = next(one for one in again.result["work"] if one["key"] == str(four[3].pk))
    assert one["begins"] == 2


def test_one_plan_is_made_at_a_time_and_one_that_was_left_is_given_up(four, head, staffed):
    other = WeekPlan.objects.create(asked_by=head, state="running")
    with pytest.raises(ValidationError, match="Ottilie Crane is having a plan made just now"):
        planning.make(head)
    WeekPlan.objects.update(asked_at=timezone.now() - timedelta(minutes=10))
    assert planning.make(head).state == "done"
    other.refresh_from_db()
    assert (other.state, other.sentence) == ("failed", planning.LEFT)


def test_what_a_plan_rests_on_is_noticed_when_it_changes(four, head, staffed):
    plan = planning.make(head)
    staffing.set_estimate(four[0].pk, person=head, low=1, likely=7, high=9)
    assert planning.input_now().digest != plan.rests_on


def test_gathering_costs_the_same_for_much_as_for_little(
    four, head, staffed, django_assert_max_num_queries
):
    for _ in range(6):
        RecommendationFactory(examination=four[0].examination, hours=2.0)
    with django_assert_max_num_queries(21):
        planning.input_now()
