"""Who is full: hours that people took on, against the hours they have."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from survey.access.models import Person
from survey.triage.board import Board, Row
from survey.triage.handing import colleagues
from survey.triage.plan.problem import QUARTERS
from survey.triage.week_input import workers_of
from survey.triage.work import HandOver


@dataclass(frozen=True)
class Load:
    """What one person has to do.

    taken    open work they accepted, and ``offered`` what waits for their answer
    working  hours they have in the time that is looked at; None where none are set
    """

    person: Person
    taken: tuple[Row, ...]
    offered: tuple[Row, ...]
    working: float | None

    @property
    def hours(self) -> float:
        return _hours(self.taken)

    @property
    def hours_offered(self) -> float:
        return _hours(self.offered)

    @property
    def without_hours(self) -> int:
        """Pieces of work of which nobody knows how long they take."""
        return sum(row.hours is None for row in (*self.taken, *self.offered))

    @property
    def is_full(self) -> bool:
        return self.working is not None and self.hours >= self.working

    @property
    def over(self) -> float:
        """Hours that are more than there are."""
        return max(0.0, self.hours - self.working) if self.working is not None else 0.0


def loads(board: Board, first_day: date, weeks: int) -> list[Load]:
    """Everybody who takes on work, who has most to do first."""
    people = colleagues()
    working = working_hours(people, first_day, weeks)
    rows = [row for row in board.by_key.values() if row.hand_over is not None]

    def of(person: Person, state: str) -> tuple[Row, ...]:
        return tuple(
            row
            for row in rows
            if row.hand_over is not None
            and row.hand_over.to_person_id == person.pk
            and row.hand_over.state == state
        )

    found = [
        Load(
            person,
            of(person, HandOver.State.ACCEPTED),
            of(person, HandOver.State.OFFERED),
            working.get(person.pk),
        )
        for person in people
    ]
    return sorted(found, key=lambda load: (-load.hours, load.person.name))


def working_hours(people: Iterable[Person], first_day: date, weeks: int) -> dict[int, float]:
    """Hours that each person works in so many weeks from a day, absences taken out, by key.

    Of those whose hours are set.
    """
    last = first_day + timedelta(weeks=weeks)
    by_key = {str(person.pk): person.pk for person in people}
    monday = first_day - timedelta(days=first_day.weekday())
    days = (last - monday).days
    return {
        by_key[worker.key]: sum(worker.quarters[:days]) / QUARTERS
        for worker in workers_of(people, monday, first_day)
        if worker.in_all
    }


def _hours(rows: Iterable[Row]) -> float:
    return sum(row.hours or 0 for row in rows)
