"""What the week plan rests on: hours, skills, absences, and how long work may take."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from survey.access.models import Person
from survey.desk.plan_forms import AbsenceForm, EstimateForm, WeekForm
from survey.desk.views.session import person_of
from survey.triage import queries, staffing
from survey.triage.acting import GONE
from survey.triage.board import Row
from survey.triage.handing import colleagues
from survey.triage.planning import check_may_decide
from survey.triage.week import DAYS, Absence, Estimate, Skill, WorkingWeek


@login_required
def estimate_page(request: HttpRequest, key: UUID) -> HttpResponse:
    """How long a piece of work may take, and what it waits for."""
    board = queries.board()
    row = board.by_key.get(key)
    if row is None:
        raise Http404(GONE)
    others = sorted(
        (one for one in board.by_key.values() if one.key != key), key=lambda one: one.name
    )
    form = EstimateForm(
        request.POST if request.method == "POST" else None,
        others=others,
        initial=estimated(row),
    )
    if request.method == "POST" and form.is_valid():
        after = form.cleaned_data["after"]
        told = {**form.cleaned_data, "after": UUID(after) if after else None}
        try:
            staffing.set_estimate(key, person=person_of(request), **told)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"The estimate of {row.name}, is set.")
            return redirect("desk:plan")
    return render(
        request,
        "desk/plan/estimate.html",
        {"row": row, "object": row.object, "form": form},
        status=400 if form.errors else 200,
    )


def estimated(row: Row) -> dict[str, Any]:
    found = Estimate.objects.filter(piece=row.key).first()
    if found is None:
        return {"low": row.hours, "likely": row.hours, "high": row.hours, "setting_days": 0}
    return {
        "low": found.low,
        "likely": found.likely,
        "high": found.high,
        "setting_days": found.setting_days,
        "after": str(found.after_id) if found.after_id else "",
    }


@require_safe
@login_required
def people_page(request: HttpRequest) -> HttpResponse:
    """Everybody's hours, skills and absences."""
    weeks = {one.person_id: one for one in WorkingWeek.objects.all()}
    skills: dict[int, list[Skill]] = {}
    for skill in Skill.objects.all():
        skills.setdefault(skill.person_id, []).append(skill)
    away: dict[int, list[Absence]] = {}
    for absence in Absence.objects.filter(last_day__gte=timezone.localdate()):
        away.setdefault(absence.person_id, []).append(absence)
    return render(
        request,
        "desk/plan/people.html",
        {
            "people": [
                {
                    "person": person,
                    "week": weeks.get(person.pk),
                    "skills": skills.get(person.pk, []),
                    "absences": away.get(person.pk, []),
                }
                for person in colleagues()
            ]
        },
    )


@login_required
def person_page(request: HttpRequest, key: int) -> HttpResponse:
    """One person's week and skills, which the head sets, and absences."""
    person = planned_person(key)
    if request.method != "POST":
        return page_of(request, person)
    check_may_decide(person_of(request))
    form = WeekForm(request.POST)
    if form.is_valid():
        try:
            staffing.set_week(person, person=person_of(request), hours=form.hours)
            staffing.set_skills(person, person=person_of(request), skills=form.skills)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Hours and skills of {person.name} are set.")
            return redirect("desk:plan-people")
    return page_of(request, person, week=form)


@require_POST
@login_required
def add_absence(request: HttpRequest, key: int) -> HttpResponse:
    person = planned_person(key)
    form = AbsenceForm(request.POST)
    if form.is_valid():
        try:
            staffing.add_absence(person, person=person_of(request), **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, "The absence is noted.")
            return redirect("desk:plan-person", key=person.pk)
    return page_of(request, person, absence=form)


@require_POST
@login_required
def remove_absence(request: HttpRequest, key: int) -> HttpResponse:
    absence = get_object_or_404(Absence.objects.select_related("person"), pk=key)
    staffing.remove_absence(absence, person=person_of(request))
    messages.success(request, "The absence is taken away.")
    return redirect("desk:plan-person", key=absence.person_id)


def page_of(
    request: HttpRequest,
    person: Person,
    week: WeekForm | None = None,
    absence: AbsenceForm | None = None,
) -> HttpResponse:
    """week, absence  the form that was just sent, and refused"""
    reader = person_of(request)
    return render(
        request,
        "desk/plan/person.html",
        {
            "person": person,
            "form": week or WeekForm(initial=week_of(person)),
            "absence_form": absence or AbsenceForm(),
            "absences": Absence.objects.filter(person=person),
            "may_note": reader.is_head or reader == person,
        },
        status=400 if week or absence else 200,
    )


def week_of(person: Person) -> dict[str, Any]:
    """What stands in the form of a person's week."""
    week = WorkingWeek.objects.filter(person=person).first()
    found: dict[str, Any] = {day: f"{getattr(week, day):g}" for day in DAYS} if week else {}
    for skill in Skill.objects.filter(person=person):
        found.setdefault(f"skills-{skill.studio}", []).append(skill.kind_of_work)
    return found


def planned_person(key: int) -> Person:
    found = next((one for one in colleagues() if one.pk == key), None)
    if found is None:
        raise Http404("Nobody of this number plans work.")
    return found
