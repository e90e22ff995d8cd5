"""What changes the week plan's ground: people's skills and hours, absences, estimates."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.triage.acting import open_row, piece_of
from survey.triage.pieces import desk_work
from survey.triage.planning import check_may_decide
from survey.triage.services import may_plan
from survey.triage.waiting import check_no_circle, one_at_a_time, waits_of
from survey.triage.week import DAYS, Absence, Estimate, Skill, WorkingWeek


def set_week(of: Person, *, person: Person, hours: dict[str, float]) -> WorkingWeek:
    """Set the hours of somebody's ordinary week, by name of the day.

    Raises PermissionDenied unless by the head, and ValidationError with a sentence by field.
    """
    check_may_decide(person)
    _check_plans(of)
    week = WorkingWeek.objects.filter(person=of).first() or WorkingWeek(person=of)
    for day in DAYS:
        setattr(week, day, hours[day])
    week.full_clean()
    with transaction.atomic():
        week.save()
        note(person, "hours set", of.name, {day: hours[day] for day in DAYS})
    return week


def set_skills(of: Person, *, person: Person, skills: Iterable[tuple[str, str]]) -> None:
    """Say what somebody can do: studio and kind of work. Raises as set_week does."""
    check_may_decide(person)
    _check_plans(of)
    rows = [
        Skill(person=of, studio=studio, kind_of_work=kind) for studio, kind in sorted(set(skills))
    ]
    for row in rows:
        row.clean_fields()
    with transaction.atomic():
        Skill.objects.filter(person=of).delete()
        Skill.objects.bulk_create(rows)
        note(person, "skills set", of.name, {"skills": [str(row) for row in rows]})


def add_absence(
    of: Person, *, person: Person, first_day: date, last_day: date, reason: str = ""
) -> Absence:
    """Say when somebody is not there. Everybody says it of themselves, the head of all.

    Raises PermissionDenied, and ValidationError with a sentence by field.
    """
    _check_own(of, person)
    absence = Absence(person=of, first_day=first_day, last_day=last_day, reason=reason.strip())
    absence.full_clean()
    with transaction.atomic():
        absence.save()
        note(person, "absence noted", of.name, _told(absence))
    return absence


def remove_absence(absence: Absence, *, person: Person) -> None:
    """They are there after all. Raises PermissionDenied."""
    _check_own(absence.person, person)
    with transaction.atomic():
        note(person, "absence taken away", absence.person.name, _told(absence))
        absence.delete()


def set_estimate(
    key: UUID,
    *,
    person: Person,
    low: float,
    likely: float,
    high: float,
    setting_days: int = 0,
    after: UUID | None = None,
) -> Estimate:
    """Say how long a piece of work may take, and what it waits for in the plan.

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field, also for
    work that would wait for itself by way of others, in the plan or held.
    """
    with transaction.atomic():
        one_at_a_time()
        board, row = open_row(key, person)
        other = None
        if after is not None:
            other = board.by_key.get(after)
            if other is None:
                raise ValidationError(
                    {"after": "The other piece of work is not open. Choose another one."}
                )
            check_no_circle(row, other, waits_of(board, desk_work()))
        estimate = Estimate.objects.filter(piece=key).first() or Estimate()
        estimate.piece = piece_of(row, person)
        estimate.low, estimate.likely, estimate.high = low, likely, high
        estimate.setting_days = setting_days
        estimate.after = piece_of(other, person) if other is not None else None
        estimate.set_by, estimate.set_at = person, timezone.now()
        estimate.full_clean()
        estimate.save()
        note(
            person,
            "estimate set",
            row.name,
            {
                "piece": str(key),
                "low": low,
                "likely": likely,
                "high": high,
                "setting_days": setting_days,
                "after": str(after) if after else None,
            },
        )
    return estimate


def _check_plans(of: Person) -> None:
    if not may_plan(of):
        raise ValidationError("Couriers are in no week plan. Choose a conservator.")


def _check_own(of: Person, person: Person) -> None:
    if not may_plan(person) or (of != person and not person.is_head):
        raise PermissionDenied("The head of department notes the absences of others.")


def _told(absence: Absence) -> dict[str, Any]:
    return {
        "first_day": absence.first_day.isoformat(),
        "last_day": absence.last_day.isoformat(),
        "reason": absence.reason,
    }
