"""Days on which a plan has two people at one object.

No rule of the plan forbids it: a plan is told by the order of each person's work alone, and who of
two people has an object first would be one more thing to decide. So it is said, and people agree.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from survey.triage.plan.measure import Placed, Schedule


@dataclass(frozen=True)
class SharedDay:
    """One object on one day; ``work`` is all that two or more people do of it then."""

    day: int
    object: str
    work: tuple[Placed, ...]


def shared_days(schedule: Schedule, objects: Mapping[str, Collection[str]]) -> list[SharedDay]:
    """By day, then by object.

    objects  what each piece of work is done on, by its key
    """
    found: dict[tuple[int, str], list[Placed]] = {}
    for key, placed in schedule.items():
        for day, _ in placed.by_day():
            for one in objects.get(key, ()):
                found.setdefault((day, one), []).append(placed)
    return [
        SharedDay(day, one, tuple(sorted(work, key=lambda placed: placed.job.key)))
        for (day, one), work in sorted(found.items())
        if len({placed.worker.key for placed in work}) > 1
    ]
