"""Makes week plans, and fits one again after a pin.

A plan is made while its request waits, and tells how far it is in its row meanwhile: it takes some
seconds, and the worker may be at a reading for longer.
"""

import importlib.util
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.reading.progress import Progress
from survey.reading.work import carry_out
from survey.triage import queries
from survey.triage.acting import open_row, piece_of
from survey.triage.pieces import desk_work
from survey.triage.plan.by_hand import plan_by_hand
from survey.triage.plan.fit import fitted
from survey.triage.plan.late import Late, Least, what_is_late
from survey.triage.plan.measure import Orders, timed
from survey.triage.plan.pins import check_pins
from survey.triage.plan.problem import Pin as PlanPin
from survey.triage.plan.problem import (
    PinsCollide,
    Problem,
    WrongInput,
    check,
    day_in_words,
    pin_troubles,
)
from survey.triage.plan.shared import shared_days
from survey.triage.week import Pin, WeekPlan
from survey.triage.week_input import WeekInput, gather

MADE_WITH = "Fieldleaf, week plan 1"
# One that is said to be made for longer was left by a server that stopped.
LONGEST = timedelta(minutes=2)
LEFT = "The server stopped while this plan was made. Make it again."
# Of the work of a plan, before ways out are looked for.
PLANNED = 0.85


def check_may_decide(person: Person) -> None:
    """Raises PermissionDenied unless the person is head of department."""
    if not person.is_head:
        raise PermissionDenied("The head of department makes the week plan; everybody reads it.")


def has_solver() -> bool:
    return importlib.util.find_spec("ortools") is not None


def input_now() -> WeekInput:
    """What a plan made now would rest on."""
    today = timezone.localdate()
    desk = desk_work()
    return gather(queries.board(today, desk=desk), desk, today)


def make(person: Person, *, refit: bool = False) -> WeekPlan:
    """Make a plan of the weeks ahead, and return it when it is made or has failed.

    refit  from the plan that holds, in less time: so little moves

    Raises PermissionDenied, and ValidationError while another one is being made.
    """
    check_may_decide(person)
    with transaction.atomic():
        open_one = being_made()
        if open_one is not None:
            raise ValidationError(
                f"{open_one.asked_by.name} is having a plan made just now. Wait until it is there."
            )
        plan = WeekPlan.objects.create(asked_by=person, is_refit=refit)
        note(person, "week plan made", "", {"plan": str(plan.pk), "refit": refit})
    last = holding()
    carry_out(
        plan,
        lambda: _make(plan, last if refit else None),
        step="Gathering work, people and dates",
        made_with=MADE_WITH,
        troubles=(WrongInput, PinsCollide),
        untouched="The plan before is",
    )
    plan.refresh_from_db()
    return plan


def being_made() -> WeekPlan | None:
    """The plan that is being made; one that a stopped server left is given up."""
    states = [WeekPlan.State.WAITING, WeekPlan.State.RUNNING]
    rows = WeekPlan.objects.filter(state__in=states)
    rows.filter(asked_at__lt=timezone.now() - LONGEST).update(
        state=WeekPlan.State.FAILED, sentence=LEFT, done_at=timezone.now()
    )
    return rows.select_related("asked_by").first()


def holding() -> WeekPlan | None:
    """The plan that holds: the newest that was made."""
    return (
        WeekPlan.objects.filter(state=WeekPlan.State.DONE)
        .select_related("asked_by")
        .order_by("-done_at")
        .first()
    )


def pin(key: UUID, *, person: Person, to: Person, day: date) -> Pin:
    """Let a piece of work begin on a day, by somebody. An earlier pin of it is ended.

    Raises PermissionDenied, and ValidationError with a sentence when that cannot be, whatever
    else is planned.
    """
    check_may_decide(person)
    with transaction.atomic():
        _, row = open_row(key, person)
        _check_pin(row.name, str(key), to, day)
        piece = piece_of(row, person)
        _end_pin(key, person)
        pinned = Pin.objects.create(piece=piece, person=to, day=day, by=person)
        note(
            person,
            "work pinned",
            row.name,
            {"piece": str(key), "person": to.name, "day": day.isoformat()},
        )
    return pinned


def unpin(key: UUID, *, person: Person) -> None:
    """Let the plan place it again. Raises PermissionDenied, ValidationError."""
    check_may_decide(person)
    with transaction.atomic():
        ended = _end_pin(key, person)
        if ended is None:
            raise ValidationError("It is not pinned, or the pin was taken away already.")
        note(person, "pin taken away", "", {"piece": str(key)})


def _end_pin(key: UUID, person: Person) -> Pin | None:
    found = Pin.objects.filter(piece=key, ended_at=None).first()
    if found is not None:
        found.ended_at, found.ended_by = timezone.now(), person
        found.save(update_fields=["ended_at", "ended_by"])
    return found


def _check_pin(name: str, key: str, to: Person, day: date) -> None:
    """Raises ValidationError unless this pin could be kept with the others."""
    found = input_now().problem
    if key not in found.by_key:
        raise ValidationError(
            f"{name} is in no plan: it is held until after these weeks, waits for such work, or "
            "no hours are estimated. Mend that first."
        )
    today = timezone.localdate()
    if day < today:
        raise ValidationError(f"{day_in_words(day)} has passed. Choose today or a later day.")
    placed = PlanPin(str(to.pk), (day - found.first_day).days)
    jobs = tuple(replace(job, pin=placed) if job.key == key else job for job in found.jobs)
    found = replace(found, jobs=jobs)
    troubles = pin_troubles(found.by_key[key], found)
    if troubles:
        raise ValidationError(troubles[0].sentence)
    try:
        check_pins(found)
    except PinsCollide as error:
        raise ValidationError(str(error)) from error


def _make(plan: WeekPlan, last: WeekPlan | None) -> None:
    progress = Progress(plan)
    given = input_now()
    check(given.problem)
    progress.say(0.05, "Finding who does what")
    orders, facts, least = _planned(given.problem, orders_of(last), progress)
    progress.say(PLANNED, "Looking for ways out for what is late")
    late = what_is_late(given.problem, orders, least)
    WeekPlan.objects.filter(pk=plan.pk).update(
        state=WeekPlan.State.DONE,
        progress=1.0,
        step="",
        rests_on=given.digest,
        result=result_of(given, orders, late) | facts,
        bound=facts.get("bound"),
        seconds=facts["seconds"],
        done_at=timezone.now(),
    )


def _planned(
    problem: Problem, last: Orders, progress: Progress
) -> tuple[Orders, dict[str, Any], Least | None]:
    """The plan, what is known of it, and what proves bounds: by the solver, or by hand."""
    if not has_solver():
        began = timezone.now()
        orders = (fitted(problem, last) if last else None) or plan_by_hand(problem)
        took = (timezone.now() - began).total_seconds()
        return orders, {"by": "hand", "seconds": round(took, 2)}, None
    from survey.triage.plan.solve import least_late, refit, solve

    def say(share: float, step: str) -> None:
        progress.say(share * PLANNED, step)

    solved = refit(problem, last, say=say) if last else solve(problem, say=say)
    facts = {
        "by": "solver",
        "seconds": round(solved.seconds, 2),
        "measure": solved.measure._asdict(),
        "bound": solved.bound,
        "fewest_late": solved.fewest_late,
        "proven": list(solved.proven),
        "was_cut": solved.was_cut,
    }
    return solved.orders, facts, least_late


def orders_of(plan: WeekPlan | None) -> dict[str, tuple[str, ...]]:
    """Who does what in which order in a plan that was made."""
    result: Mapping[str, Any] = plan.result if plan is not None and plan.result else {}
    return {key: tuple(line) for key, line in result.get("orders", {}).items()}


def result_of(given: WeekInput, orders: Orders, late: list[Late]) -> dict[str, Any]:
    """A plan as JSON, with all that its page says of it.

    first_day  of the plan, which is day 0; all days are counted from it
    orders     keys of work by key of person
    people     key, name, and ``quarters`` of an hour on each day
    work       key, name, person, parts ([day, quarters]), begins, done, is_hazard, due, last_day,
               not_before (the day until which it is held; 0 for none), late_if_high: days late if
               all takes as long as it may, for dated work that is on time
    late       key, days, ways: see late.Late
    missing    keys of what does not fit into the planned weeks
    unplaced   key: why nobody can do it
    shared     days on which two or more people are at one object: day, object (its accession
               number), work ([name of the person, name of the work])
    """
    problem = given.problem
    placed = timed(problem, orders) or {}
    slow = _slowly(problem, orders)
    return {
        "first_day": problem.first_day.isoformat(),
        "orders": {key: list(line) for key, line in orders.items()},
        "people": [
            {"key": one.key, "name": one.name, "quarters": list(one.quarters)}
            for one in problem.workers
        ],
        "work": [
            {
                "key": key,
                "name": one.job.name,
                "person": one.worker.key,
                "parts": [list(part) for part in one.by_day()],
                "begins": one.begins,
                "done": one.done,
                "is_hazard": one.job.is_hazard,
                "project": one.job.project,
                "last_day": one.job.last_day,
                "not_before": one.job.not_before,
                "days_late": one.days_late,
                "late_if_high": 0 if one.is_late else slow.get(key, 0),
            }
            for key, one in placed.items()
        ],
        "late": [
            {
                "key": one.job.key,
                "name": one.job.name,
                "project": one.job.project,
                "last_day": one.job.last_day,
                "setting_days": one.job.setting_days,
                "not_before": one.job.not_before,
                "days": one.days,
                "ways": [vars(way) for way in one.ways],
            }
            for one in late
        ],
        "missing": [job.key for job in problem.placeable if job.key not in placed],
        "unplaced": dict(problem.unplaceable),
        "shared": [
            {
                "day": one.day,
                "object": one.object,
                "work": [[each.worker.name, each.job.name] for each in one.work],
            }
            for one in shared_days(placed, _objects(given))
        ],
    }


def _objects(given: WeekInput) -> dict[str, list[str]]:
    """The accession numbers of what each piece of work is done on."""
    return {
        key: [item.accession_number for item in (row.object, *row.others)]
        for key, row in given.rows.items()
    }


def _slowly(problem: Problem, orders: Orders) -> dict[str, int]:
    """Days late of each piece of work if everything took its high estimate."""
    jobs = tuple(replace(job, likely=job.high, pin=None) for job in problem.jobs)
    # However long it takes, there is a day after.
    workers = tuple(
        replace(one, quarters=(*one.quarters, sum(job.quarters for job in jobs)))
        for one in problem.workers
    )
    placed = timed(replace(problem, jobs=jobs, workers=workers), orders) or {}
    return {key: one.days_late for key, one in placed.items()}
