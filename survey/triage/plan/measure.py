"""A plan as what each person does in order, when that is, and which of two plans is better.

The order alone is decided; everything begins as soon as its person is free, and what it waits for
is done, and its pin or its hold lets it. Nothing is gained by waiting longer.

Of two plans the better one has, the first difference telling:

1. ``late``      less of importance late: the sum of ``Problem.late_costs`` over what is late
2. ``left_out``  less of importance not fitting into these weeks at all: sum of weights
3. ``hazards``   hazards sooner: the sum of the days on which they are done, the first day being 1
4. ``days_late`` late work less late: the sum of days × weight; else one switch less might put a
                 late loan back by weeks
5. ``switches``  fewer switches: of two pieces one after the other, a change of skill counts one,
                 and a change of project counts one

Among plans that are as good, what is wanted sooner and counts for more comes first, as far as that
is found by putting neighbours in turn.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from survey.triage.plan.problem import Job, Problem, Worker, may_do

# Keys of work in the order each person does it.
Orders = Mapping[str, tuple[str, ...]]


class Measure(NamedTuple):
    """Compares as plans do: less is better."""

    late: int
    left_out: int
    hazards: int
    days_late: int
    switches: int


@dataclass(frozen=True)
class Placed:
    """When a piece of work is done: a stretch of its person's working time.

    start, end  in quarters on the axis of the person, the end not counted
    begins      the day
    done        the day
    """

    job: Job
    worker: Worker
    start: int
    end: int

    @cached_property
    def begins(self) -> int:
        return day_at(self.worker, self.start)

    @cached_property
    def done(self) -> int:
        return day_at(self.worker, self.end - 1)

    @property
    def is_late(self) -> bool:
        return self.days_late > 0

    @property
    def days_late(self) -> int:
        """Days of the calendar after its last day; 0 on time."""
        last = self.job.last_day
        return 0 if last is None else max(0, self.done - last)

    def by_day(self) -> list[tuple[int, int]]:
        """The quarters it takes on each day it is worked on."""
        parts = []
        at = self.start
        for day in range(self.begins, self.done + 1):
            until = min(self.end, self.worker.until[day])
            if until > at:
                parts.append((day, until - at))
                at = until
        return parts


Schedule = dict[str, Placed]


def day_at(worker: Worker, at: int) -> int:
    """The day on which a quarter of a person's axis lies."""
    return bisect_left(worker.until, at + 1)


def timed(problem: Problem, orders: Orders) -> Schedule | None:
    """When everything is done; None when these orders cannot be kept.

    Each must be of work that its person can do. They cannot be kept where work waits for work
    that comes later or is not there, where a pin is missed, or the time is too short.
    """
    placed: Schedule = {}
    at = {worker.key: 0 for worker in problem.workers}
    waiting = {worker.key: list(reversed(orders.get(worker.key, ()))) for worker in problem.workers}
    went_on = True
    while went_on:
        went_on = False
        for worker in problem.workers:
            line = waiting[worker.key]
            while line:
                job = problem.by_key[line[-1]]
                if any(key not in placed for key in job.after):
                    break
                start = max(
                    at[worker.key],
                    worker.before(job.not_before),
                    *(_after(placed[key], worker) for key in job.after),
                )
                if job.pin is not None:
                    if job.pin.worker != worker.key:
                        return None
                    day = job.pin.day
                    start = max(start, worker.before(day))
                    if start >= worker.until[day]:
                        return None
                end = start + job.quarters
                if end > worker.in_all:
                    return None
                placed[job.key] = Placed(job, worker, start, end)
                at[worker.key] = end
                line.pop()
                went_on = True
    return None if any(waiting.values()) else placed


def measure(problem: Problem, orders: Orders, schedule: Schedule | None = None) -> Measure:
    """How good a plan is. Raises ValueError when it cannot be kept."""
    placed = timed(problem, orders) if schedule is None else schedule
    if placed is None:
        raise ValueError("These orders cannot be kept.")
    parts = [measure_of_line(problem, line, placed) for line in orders.values()]
    parts += [measure_of_missing(problem, job) for job in missing(problem, placed)]
    return total(parts)


def measure_of_line(problem: Problem, line: Sequence[str], placed: Schedule) -> Measure:
    """What one person's work adds to the measure of the whole."""
    late = hazards = days_late = 0
    for key in line:
        one = placed[key]
        if one.job.is_hazard:
            hazards += one.done + 1
        if one.is_late:
            late += problem.late_costs[key]
            days_late += one.job.weight * one.days_late
    return Measure(late, 0, hazards, days_late, switches_in(problem, line))


def measure_of_missing(problem: Problem, job: Job) -> Measure:
    """What work adds that does not fit into these weeks: as if it were done the day after."""
    last, days = job.last_day, problem.days
    is_late = last is not None and days > last
    return Measure(
        problem.late_costs[job.key] if is_late else 0,
        job.weight,
        days + 1 if job.is_hazard else 0,
        job.weight * (days - last) if is_late and last is not None else 0,
        0,
    )


def total(parts: Iterable[Measure]) -> Measure:
    return Measure(*map(sum, zip(Measure(0, 0, 0, 0, 0), *parts, strict=True)))


def switches_in(problem: Problem, line: Sequence[str]) -> int:
    jobs = [problem.by_key[key] for key in line]
    return sum(switch(one, other) for one, other in pairwise(jobs))


def switch(one: Job, other: Job) -> int:
    """What going from one piece of work to another changes: 0, 1 or 2."""
    return (one.skill != other.skill) + (one.project != other.project)


def missing(problem: Problem, schedule: Schedule) -> list[Job]:
    """What could be placed and is not: it does not fit into these weeks."""
    return [job for job in problem.placeable if job.key not in schedule]


def faults(problem: Problem, orders: Orders) -> list[str]:
    """What is wrong with a plan made by hand or read from a row, in sentences; [] when nothing."""
    people = {worker.key: worker for worker in problem.workers}
    seen: set[str] = set()
    found = []
    for key, line in orders.items():
        for name in line:
            job = problem.by_key.get(name)
            if job is None or key not in people or name in seen:
                found.append(f"{name} is not in these weeks' work, or is in the plan twice.")
            elif not may_do(people[key], job):
                found.append(
                    f"{people[key].name} cannot do {problem.named(job.skill)}, as {job.name} asks."
                )
            seen.add(name)
    found += [
        f"{job.name} is pinned, and the plan leaves it out."
        for job in problem.placeable
        if job.pin is not None and job.key not in seen
    ]
    if not found and timed(problem, orders) is None:
        found.append("In this order work would come before what it waits for, or miss its pin.")
    return found


def _after(before: Placed, worker: Worker) -> int:
    """Where on a person's axis that may begin which waits for another piece of work."""
    return before.end if before.worker.key == worker.key else worker.until[before.done]
