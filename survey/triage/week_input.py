"""Gathers what a week plan is made of from the board, people's hours, and the dates of needs.

Work that has something wrong with it is left out and told; all else is planned.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.loans.away import away
from survey.triage.board import Board, Row
from survey.triage.deadlines import Deadline, deadlines
from survey.triage.handing import colleagues
from survey.triage.history import queue_name
from survey.triage.pieces import DeskWork
from survey.triage.plan.problem import (
    Job,
    Pin,
    Problem,
    Trouble,
    Worker,
    circular,
    estimate_trouble,
    pin_troubles,
    quarters_of,
    worker_troubles,
)
from survey.triage.rule import in_words
from survey.triage.waiting import Waits, waits_of
from survey.triage.week import Absence, Estimate, Skill, WorkingWeek
from survey.triage.week import Pin as PinRow
from survey.vocabulary import queries as vocabulary

WEEKS = 6
# Work that does not fit into the weeks that are shown is placed in those after them.
MORE_WEEKS = 12
# What it costs to have anything late, in tenths of a point; its score comes on top. So one thing
# late is better than two, unless it is by far the more important.
BEING_LATE = 500


@dataclass(frozen=True)
class NotPlanned:
    """Work that is held until after the planned weeks, or waits for such work.

    waits_for  what keeps it out of the plan, where that is not its own hold
    """

    row: Row
    waits_for: tuple[Row, ...] = ()


@dataclass(frozen=True)
class WeekInput:
    """What the plan of these weeks is made of.

    problem    without what has something wrong with it
    rows       the work that could be planned, by key
    people     by key
    due        the nearest date of each piece of work that has one
    troubles   at people and work, each with a sentence
    held       work that stands in no plan, in the order in which it comes back
    """

    problem: Problem
    rows: dict[str, Row]
    people: dict[str, Person]
    due: dict[str, Deadline]
    troubles: tuple[Trouble, ...]
    held: tuple[NotPlanned, ...]

    @property
    def digest(self) -> str:
        """Of all that a plan rests on."""
        said = json.dumps(asdict(self.problem), sort_keys=True, default=_plain)
        return hashlib.sha256(said.encode()).hexdigest()


def gather(board: Board, desk: DeskWork, today: date) -> WeekInput:
    """Everything open, and everybody who plans work; the same number of queries however much."""
    first = today - timedelta(days=today.weekday())
    people = {str(person.pk): person for person in colleagues()}
    workers = workers_of(people.values(), first, today)
    due = _due(board, today)
    estimates = {
        str(one.piece_id): one for one in Estimate.objects.select_related("after", "set_by")
    }
    waits = waits_of(board, desk, estimates.values())
    back_on = {row.key: row.hold.until for row in board.held if row.hold and not row.hold.after_id}
    held = _not_planned(board, back_on, waits, first + timedelta(weeks=WEEKS))
    left_out = {one.row.key for one in held}
    rows = {str(row.key): row for row in board.by_key.values() if row.key not in left_out}
    pins = {
        str(pin.piece_id): Pin(str(pin.person_id), (pin.day - first).days)
        for pin in PinRow.objects.filter(ended_at=None)
    }
    troubles = [trouble for worker in workers for trouble in worker_troubles(worker)]
    at_fault = {trouble.worker for trouble in troubles}
    workers = [worker for worker in workers if worker.key not in at_fault]
    jobs = []
    for key, row in rows.items():
        estimate = estimates.get(key)
        hours = (estimate.low, estimate.likely, estimate.high) if estimate else (row.hours,) * 3
        sentence = estimate_trouble(*hours)
        if sentence:
            troubles.append(Trouble(f"{row.name}: {sentence}", job=key))
            continue
        if due.get(key) is not None and due[key].due < today:
            troubles.append(
                Trouble(
                    f"{row.name}: the date of {due[key].what}, {in_words(due[key].due)}, has "
                    "passed. It is planned as late already: give it a new date, or take the need "
                    "away.",
                    job=key,
                    about="date",
                )
            )
        after = tuple(str(wait.other.key) for wait in waits.get(row.key, ()))
        job = _job(row, hours, estimate, after, due.get(key), first)
        if row.key in back_on:
            job = replace(job, not_before=(back_on[row.key] - first).days)
        jobs.append(job)
    problem = Problem(
        first,
        tuple(replace(job, pin=pins.get(job.key)) for job in _without_unknown(jobs)),
        tuple(workers),
        skill_names(),
        (today - first).days,
    )
    problem, more = _sifted(problem, today)
    return WeekInput(problem, rows, people, due, (*troubles, *more, *_on_loan(rows, today)), held)


def workers_of(people: Iterable[Person], first: date, today: date) -> list[Worker]:
    """Everybody's hours from today on, in the weeks that are planned; three queries."""
    weeks = {one.person_id: one for one in WorkingWeek.objects.all()}
    skills: dict[int, set[str]] = {}
    for skill in Skill.objects.all():
        skills.setdefault(skill.person_id, set()).add(str(skill))
    away: dict[int, list[Absence]] = {}
    for absence in Absence.objects.filter(last_day__gte=first):
        away.setdefault(absence.person_id, []).append(absence)
    return [
        Worker(
            str(person.pk),
            person.name,
            frozenset(skills.get(person.pk, ())),
            _quarters(weeks.get(person.pk), away.get(person.pk, []), first, today),
        )
        for person in people
    ]


def skill_names() -> dict[str, str]:
    """``paper: treat`` as it is said: ``Paper studio: treat``."""
    return {
        f"{studio}: {kind}": queue_name((studio, kind))
        for studio in Object.Studio.values
        for kind in vocabulary.kind_names()
    }


def _quarters(
    week: WorkingWeek | None, away: list[Absence], first: date, today: date
) -> tuple[int, ...]:
    found = []
    for number in range((WEEKS + MORE_WEEKS) * 7):
        day = first + timedelta(days=number)
        is_there = day >= today and not any(absence.covers(day) for absence in away)
        found.append(quarters_of(week.hours_on(day)) if week is not None and is_there else 0)
    return tuple(found)


def _on_loan(rows: Mapping[str, Row], today: date) -> Iterable[Trouble]:
    """Work on what is out of the house, unless it is held until the object is back."""
    lent = away(today)
    for key, row in rows.items():
        for item in (row.object, *row.others):
            loan = lent.get(item.pk)
            if loan is None or (row.hold is not None and row.hold.until >= loan.last_day):
                continue
            named = item.accession_number if row.others else "the object"
            yield Trouble(
                f"{row.name}: {named} is on loan {loan.reference} until "
                f"{in_words(loan.last_day)}. The work is planned as if it were here: hold it until "
                "it is back, unless it is done where the object is.",
                job=key,
                about="loan",
            )


def _due(board: Board, today: date) -> dict[str, Deadline]:
    """The nearest day on which each piece of work must be done. Of loans the day counts on which
    they begin, as long as it lies ahead: then the objects are away."""
    found: dict[str, Deadline] = {}
    for one in deadlines(board, today):
        if one.loan is not None and (one.due != one.loan.first_day or one.due < today):
            continue
        for row in one.rows:
            found.setdefault(str(row.key), one)
    return found


def _job(
    row: Row,
    hours: tuple[Any, Any, Any],
    estimate: Estimate | None,
    after: tuple[str, ...],
    due: Deadline | None,
    first: date,
) -> Job:
    studio, kind = row.queue
    return Job(
        key=str(row.key),
        name=row.name,
        skill=f"{studio}: {kind}",
        low=hours[0],
        likely=hours[1],
        high=hours[2],
        weight=BEING_LATE + row.score.tenths,
        is_hazard=any(standing.hazards for standing, _ in row.members),
        due=max(0, (due.due - first).days) if due else None,
        setting_days=estimate.setting_days if estimate else 0,
        after=after,
        whose=str(row.person.pk) if row.person else "",
        project=due.what if due else "",
    )


def _not_planned(
    board: Board, back_on: Mapping[UUID, date], waits: Waits, end: date
) -> tuple[NotPlanned, ...]:
    """What is held until ``end`` or later, and after it all that waits for it."""
    found = {
        row.key: NotPlanned(row)
        for row in board.held
        if row.key in back_on and back_on[row.key] >= end
    }
    grew = True
    while grew:
        grew = False
        for key, row in board.by_key.items():
            others = tuple(wait.other for wait in waits.get(key, ()) if wait.other.key in found)
            if key not in found and others:
                found[key] = NotPlanned(row, others)
                grew = True
    return tuple(found.values())


def _without_unknown(jobs: list[Job]) -> list[Job]:
    """Waiting for what is done, or has no hours and so is in no plan, is waiting for nothing."""
    known = {job.key for job in jobs}
    return [replace(job, after=tuple(key for key in job.after if key in known)) for job in jobs]


def _sifted(problem: Problem, today: date) -> tuple[Problem, list[Trouble]]:
    """Without circles, and without pins that cannot be kept, each told."""
    found = []
    for _ in problem.jobs:
        trouble = next(iter(circular(problem.jobs)), None)
        if trouble is None:
            break
        found.append(trouble)
        jobs = [replace(job, after=()) if job.key == trouble.job else job for job in problem.jobs]
        problem = replace(problem, jobs=tuple(jobs))
    jobs = []
    for job in problem.jobs:
        wrong = pin_troubles(job, problem)
        if job.pin is not None and problem.date_of(job.pin.day) < today:
            # It was begun then, or was to be.
            wrong = []
            job = replace(job, pin=None)
        found += wrong
        jobs.append(replace(job, pin=None) if wrong else job)
    return replace(problem, jobs=tuple(jobs)), found


def _plain(value: Any) -> Any:
    return sorted(value) if isinstance(value, frozenset) else str(value)
