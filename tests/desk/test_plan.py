"""The week plan at the desk: made, read, pinned by form, and what it rests on."""

import sys
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.access.models import Person
from survey.triage import holding, planning, staffing
from survey.triage.models import Absence, Estimate, Pin, Skill, WorkingWeek
from survey.triage.week import DAYS
from tests.desk.conftest import text_of
from tests.factories import NeedFactory, ObjectFactory, RecommendationFactory, examined

pytestmark = pytest.mark.django_db

# A Monday.
TODAY = date(2026, 5, 4)


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "localdate", lambda *_: TODAY)


@pytest.fixture
def staffed(head: Person, conservator: Person) -> Person:
    hours = {day: 4.0 if day not in ("saturday", "sunday") else 0.0 for day in DAYS}
    staffing.set_week(conservator, person=head, hours=hours)
    staffing.set_skills(conservator, person=head, skills=[("paper", "treat")])
    return conservator


def work(number, hours, due=None):
    item = ObjectFactory(accession_number=number)
    if due is not None:
        NeedFactory(object=item, title="Ink", due=TODAY + timedelta(days=due))
    return RecommendationFactory(examination=examined(5, object=item), hours=hours)


def page_of(client, **query):
    return text_of(client.get(reverse("desk:plan"), query))


def test_a_page_without_a_plan_says_what_to_do(head_desk, desk):
    assert "No plan is made yet." in page_of(head_desk) and "Plan the weeks" in page_of(head_desk)
    page = page_of(desk)
    assert "The head of department makes it." in page and "Plan the weeks" not in page


def test_a_plan_is_shown_with_its_bound_by_person_and_day(head_desk, staffed):
    work("A", 6.0, due=11)
    work("B", 3.0)
    assert head_desk.post(reverse("desk:plan-make")).status_code == 302
    page = page_of(head_desk)
    assert "Nothing is late. No plan is better in what is late" in page
    assert "Wren Halloway 9 h of 20 h" in page
    assert "4 h of 4 h" in page and "4 h of 6 h" in page and "2 h of 6 h" in page
    assert "Week of 4 May 2026" in page
    assert page_of(head_desk, week="all").count("Week of") > 6


def test_what_is_late_is_told_with_ways_out(head_desk, staffed):
    work("A", 6.0, due=1)
    work("B", 5.0, due=1)
    head_desk.post(reverse("desk:plan-make"))
    page = page_of(head_desk)
    assert "One piece of work is late. No plan can have fewer than 1 late." in page
    assert "Late by" in page and "Exhibition “Ink”" in page
    assert "more from Wren Halloway by 5 May 2026; no less will do." in page
    assert "Move its date by" in page and "less of it; no less will do." in page


def test_work_that_its_hold_makes_late_may_come_back_sooner(head_desk, head, staffed):
    one = work("A", 6.0, due=10)
    holding.hold(one.pk, person=head, reason="Paint dries", until=TODAY + timedelta(days=11))
    head_desk.post(reverse("desk:plan-make"))
    # Six hours are two days of four, and the weekend has none.
    sooner = "Let it come back from its hold sooner, on 13 May 2026; no less will do."
    assert sooner in page_of(head_desk)
    assert "more from" not in page_of(head_desk)


def test_trouble_is_told_with_the_way_to_mend_it(head_desk, head, staffed):
    one = work("A", None)
    late = work("B", 1.0, due=-2)
    answer = head_desk.get(reverse("desk:plan"))
    page = text_of(answer)
    assert "A, treat: no hours are estimated. Give low, likely and high hours." in page
    assert "has passed. It is planned as late already" in page
    assert "Ottilie Crane has no skill" in page
    content = answer.content.decode()
    assert reverse("desk:estimate", args=[one.pk]) in content
    assert reverse("desk:object", args=[late.examination.object.pk]) in content
    assert reverse("desk:plan-person", args=[head.pk]) in content


def test_held_work_is_planned_from_its_day_or_told_with_reason_and_date(head_desk, head, staffed):
    work("A", 2.0)
    soon, late = work("B", 2.0), work("C", 2.0)
    until = TODAY + timedelta(days=8)
    holding.hold(soon.pk, person=head, reason="Paint dries", until=until)
    holding.hold(late.pk, person=head, reason="The press is away", until=date(2026, 7, 1))
    head_desk.post(reverse("desk:plan-make"))
    page = page_of(head_desk, week="all")
    assert "Held, not planned 1" in page
    assert "C, treat . Held until 1 July 2026 by Ottilie Crane: The press is away" in page
    assert "Held until 12 May" in page
    result = planning.holding().result
    assert {one["name"]: one["begins"] for one in result["work"]} == {"A, treat": 0, "B, treat": 8}


def test_two_people_at_one_object_on_one_day_are_warned_of(head_desk, head, staffed, monkeypatch):
    hours = {day: 4.0 if day not in ("saturday", "sunday") else 0.0 for day in DAYS}
    staffing.set_week(head, person=head, hours=hours)
    staffing.set_skills(head, person=head, skills=[("paper", "rehouse")])
    first = work("A", 2.0)
    RecommendationFactory(examination=first.examination, kind_of_work="rehouse", hours=2.0)
    said = "Monday 4 May: "
    both = ("Wren Halloway (A, treat)", "Ottilie Crane (A, rehouse)")

    def warned() -> bool:
        page = page_of(head_desk)
        return said in page and all(one in page for one in both) and "are at A." in page

    head_desk.post(reverse("desk:plan-make"))
    assert warned()
    planning.pin(first.pk, person=head, to=staffed, day=TODAY + timedelta(days=1))
    head_desk.post(reverse("desk:plan-make"))
    assert not warned() and "Two people at one object" not in page_of(head_desk)
    planning.unpin(first.pk, person=head)
    for name in ("ortools", "survey.triage.plan.solve", "survey.triage.plan.model"):
        monkeypatch.setitem(sys.modules, name, None)
    head_desk.post(reverse("desk:plan-make"))
    assert planning.holding().result["by"] == "hand" and warned()


def test_work_is_pinned_by_a_form_and_set_free_again(head_desk, staffed):
    one = work("A", 2.0)
    head_desk.post(reverse("desk:plan-make"))
    path = reverse("desk:pin", args=[one.pk])
    form = head_desk.get(path).context["form"]
    assert form["day"].value() == TODAY
    given = {"person": staffed.pk, "day": "2026-05-07"}
    assert head_desk.post(path, given).status_code == 302
    page = page_of(head_desk)
    assert "A, treat: Wren Halloway, Thursday 7 May 2026" in page and "Pinned" in page
    head_desk.post(reverse("desk:unpin", args=[one.pk]))
    assert "Nothing is pinned" in page_of(head_desk)


def test_a_script_pins_in_json_and_hears_why_not(head_desk, staffed):
    one = work("A", 2.0)
    path = reverse("desk:pin", args=[one.pk])
    wants = {"headers": {"Accept": "application/json"}}
    answer = head_desk.post(path, {"person": staffed.pk, "day": "2026-05-09"}, **wants)
    assert answer.status_code == 400
    assert "on Saturday 9 May, when they have no hours" in answer.json()["problem"]
    answer = head_desk.post(path, {"person": staffed.pk, "day": "2026-05-05"}, **wants)
    assert answer.json() == {"said": "A, treat, is pinned, and the rest is fitted."}
    state = head_desk.get(reverse("desk:plan-state")).json()
    assert state["state"] == "done"


def test_a_pin_with_which_no_plan_can_be_is_not_kept(head_desk, staffed):
    first, second = work("A", 5.0), work("B", 2.0)
    staffing.set_estimate(
        second.pk, person=Person.objects.get(role="head"), low=1, likely=2, high=2, after=first.pk
    )
    path = reverse("desk:pin", args=[second.pk])
    answer = head_desk.post(path, {"person": staffed.pk, "day": "2026-05-04"})
    assert answer.status_code == 400
    assert "it waits for A, treat, which cannot be done by then" in text_of(answer)
    assert not Pin.objects.filter(ended_at=None).exists()


def test_a_plan_that_is_behind_says_so(head_desk, staffed):
    work("A", 2.0)
    head_desk.post(reverse("desk:plan-make"))
    assert "Something it rests on changed since" not in page_of(head_desk)
    work("B", 2.0)
    assert "Something it rests on changed since" in page_of(head_desk)


def test_the_page_works_where_the_solver_is_absent(head_desk, staffed, monkeypatch):
    work("A", 2.0)
    for name in ("ortools", "survey.triage.plan.solve", "survey.triage.plan.model"):
        monkeypatch.setitem(sys.modules, name, None)
    head_desk.post(reverse("desk:plan-make"))
    page = page_of(head_desk)
    assert "The solver is not installed on this server" in page
    assert "Made by simple rules" in page and "A, treat" in page


def test_an_estimate_is_set_and_a_slip_keeps_what_was_typed(desk, staffed):
    one, other = work("A", 2.0), work("B", 1.0)
    path = reverse("desk:estimate", args=[one.pk])
    given = {"low": "5", "likely": "4", "high": "3", "setting_days": "2", "after": str(other.pk)}
    answer = desk.post(path, given)
    assert answer.status_code == 400
    assert "The high estimate, 3 h, is less than the low one, 5 h." in text_of(answer)
    assert answer.context["form"]["setting_days"].value() == "2"
    assert desk.post(path, given | {"low": "3", "high": "6"}).status_code == 302
    estimate = Estimate.objects.get()
    assert (estimate.likely, estimate.setting_days, estimate.after_id) == (4.0, 2, other.pk)
    assert desk.get(path).context["form"]["after"].value() == str(other.pk)


def test_hours_and_skills_are_set_by_the_head(head_desk, desk, conservator):
    path = reverse("desk:plan-person", args=[conservator.pk])
    given = {day: "6" for day in DAYS} | {"skills-paper": ["treat", "rehouse"]}
    assert desk.post(path, given).status_code == 403
    answer = head_desk.post(path, given | {"monday": "25"})
    assert answer.status_code == 400 and "A day has 24 hours" in text_of(answer)
    assert head_desk.post(path, given).status_code == 302
    assert WorkingWeek.objects.get().in_all == 42
    assert Skill.objects.count() == 2
    page = text_of(head_desk.get(reverse("desk:plan-people")))
    assert "Wren Halloway 42 h Paper: rehouse; Paper: treat" in page


def test_everybody_notes_their_own_absence(desk, conservator, head):
    path = reverse("desk:absence-add", args=[conservator.pk])
    given = {"first_day": "2026-05-11", "last_day": "2026-05-08", "reason": "Leave"}
    answer = desk.post(path, given)
    assert answer.status_code == 400 and "before it begins" in text_of(answer)
    assert desk.post(path, given | {"last_day": "2026-05-15"}).status_code == 302
    ok = given | {"last_day": "2026-05-15"}
    assert desk.post(reverse("desk:absence-add", args=[head.pk]), ok).status_code == 403
    absence = Absence.objects.get()
    assert desk.post(reverse("desk:absence-remove", args=[absence.pk])).status_code == 302
    assert not Absence.objects.exists()


def test_a_courier_reads_the_plan_and_changes_nothing(courier_desk, head_desk, staffed):
    one = work("A", 2.0)
    head_desk.post(reverse("desk:plan-make"))
    assert "A, treat" in page_of(courier_desk)
    assert courier_desk.post(reverse("desk:plan-make")).status_code == 403
    assert courier_desk.get(reverse("desk:pin", args=[one.pk])).status_code == 403
    estimate = reverse("desk:estimate", args=[one.pk])
    given = {"low": "1", "likely": "1", "high": "1", "setting_days": "0"}
    assert courier_desk.post(estimate, given).status_code == 403
    assert planning.holding() is not None and not Pin.objects.exists()
