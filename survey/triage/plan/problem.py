"""What a week plan is made of: pieces of work, people, their hours; and what is wrong with them.

Time is counted in whole quarters of an hour, and days from the plan's first day, which is day 0;
every day of the calendar counts, those without hours too. A person's working hours stand one after
the other on an axis of their own, so that a piece of work that begins on Monday afternoon and goes
on on Tuesday is one stretch on it.

The rules of a plan:

- One person does a piece of work, who has its skill, and does nothing else in between.
- It takes its likely hours.
- It waits for all that it comes after: the same person goes straight on, another begins on the
  next day at the earliest, since nobody knows at which hour of a day the other is done.
- A pinned one begins on its day, by its person.
- What is held until a day begins on that day at the earliest.
- It is on time if it is done on or before its last day: the day it is due less the days of setting
  (framing, drying, transport), which run on weekends too.

Which of two plans is better is said in ``measure.py``.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from graphlib import CycleError, TopologicalSorter

QUARTERS = 4
# Later than any day.
NEVER = 10**6


class WrongInput(ValueError):
    """No plan can be made of this. ``troubles`` are all the sentences, the message is the first."""

    def __init__(self, troubles: "Iterable[Trouble]") -> None:
        self.troubles = tuple(troubles)
        super().__init__(self.troubles[0].sentence)


class PinsCollide(ValueError):
    """No plan keeps all the pins. The message says which, and what to do."""


@dataclass(frozen=True)
class Trouble:
    """What is wrong, and where: at a piece of work, at a person, or (both "") with everything.

    about  ``date``, ``pin`` or ``loan`` of a piece of work, where it is not its estimate
    """

    sentence: str
    job: str = ""
    worker: str = ""
    about: str = ""


@dataclass(frozen=True)
class Pin:
    """Who begins it, and on which day."""

    worker: str
    day: int


@dataclass(frozen=True)
class Job:
    """One piece of work.

    key           tells it from all others
    name          what sentences call it: ``PE.1987.3, treat``
    skill         code of what a person must be able to do
    low … high    hours; the plan takes the likely ones
    weight        its importance, 1 or more: what it costs to have it late
    is_hazard     counts above all that are none, and is done as soon as can be
    due           the day it is wanted; None has no date
    setting_days  days that must lie between the day it is done and the day it is due
    after         keys of the work that must be done before
    pin           where a person put it
    not_before    the first day on which it may begin: it is held until then
    whose         who took it on: nobody else does it, whatever anybody's skills; "" is anybody's
    project       what it is for, as an exhibition: going from one to another is a switch; "" none
    """

    key: str
    name: str
    skill: str
    low: float
    likely: float
    high: float
    weight: int = 1
    is_hazard: bool = False
    due: int | None = None
    setting_days: int = 0
    after: tuple[str, ...] = ()
    pin: Pin | None = None
    not_before: int = 0
    whose: str = ""
    project: str = ""

    @cached_property
    def quarters(self) -> int:
        return quarters_of(self.likely)

    @cached_property
    def last_day(self) -> int | None:
        """The last day on which it is done on time; below 0 it cannot be."""
        return None if self.due is None else self.due - self.setting_days


@dataclass(frozen=True)
class Worker:
    """One person. ``quarters``: of working time on each day, absences taken out."""

    key: str
    name: str
    skills: frozenset[str]
    quarters: tuple[int, ...]

    @cached_property
    def until(self) -> tuple[int, ...]:
        """Working time up to the end of each day: the axis of this person."""
        total, sums = 0, []
        for one in self.quarters:
            total += one
            sums.append(total)
        return tuple(sums)

    def before(self, day: int) -> int:
        """Working time before a day begins."""
        return self.until[min(day, len(self.until)) - 1] if day > 0 and self.until else 0

    @cached_property
    def in_all(self) -> int:
        return self.until[-1] if self.until else 0


@dataclass(frozen=True)
class Problem:
    """All that a plan is made of. Each worker has the same number of days.

    skills  what each skill is called in sentences
    today   the first day on which anything can still be done
    """

    first_day: date
    jobs: tuple[Job, ...]
    workers: tuple[Worker, ...]
    skills: Mapping[str, str] = field(default_factory=dict)
    today: int = 0

    @property
    def days(self) -> int:
        return max((len(worker.quarters) for worker in self.workers), default=0)

    def date_of(self, day: int) -> date:
        return self.first_day + timedelta(days=day)

    def named(self, skill: str) -> str:
        return f"“{self.skills.get(skill, skill)}”"

    @cached_property
    def by_key(self) -> dict[str, Job]:
        return {job.key: job for job in self.jobs}

    @cached_property
    def unplaceable(self) -> dict[str, str]:
        """Work that nobody here can do, each with a sentence; the plan is made without it."""
        found = {job.key: self._why_nobody(job) for job in self.jobs if not able(self, job)}
        grew = True
        while grew:
            grew = False
            for job in self.jobs:
                missing = next((key for key in job.after if key in found), None)
                if job.key not in found and missing is not None:
                    found[job.key] = (
                        f"{job.name} cannot be placed: it waits for {self.by_key[missing].name}, "
                        "which cannot be placed either."
                    )
                    grew = True
        return found

    def _why_nobody(self, job: Job) -> str:
        if job.whose:
            return (
                f"{job.name} cannot be placed: whoever took it on has no hours in these weeks. "
                "Hand it to somebody else, or give them hours."
            )
        return (
            f"{job.name} cannot be placed: nobody who has hours in these weeks can do "
            f"{self.named(job.skill)}. Give somebody this skill, or take it off the plan."
        )

    @cached_property
    def placeable(self) -> tuple[Job, ...]:
        return tuple(job for job in self.jobs if job.key not in self.unplaceable)

    @cached_property
    def depths(self) -> dict[str, int]:
        """How many pieces of work must be done before each, one after the other."""
        depths: dict[str, int] = {}
        for key in TopologicalSorter({job.key: job.after for job in self.jobs}).static_order():
            after = self.by_key[key].after
            depths[key] = 1 + max((depths[before] for before in after), default=-1)
        return depths

    @cached_property
    def wanted(self) -> dict[str, int]:
        """The last day of each piece of work, or the day before that of what waits for it, if that
        is sooner; NEVER for none."""
        wanted = {job.key: last_or_never(job) for job in self.placeable}
        for job in sorted(self.placeable, key=lambda one: -self.depths[one.key]):
            for key in job.after:
                if wanted[job.key] < NEVER:
                    wanted[key] = min(wanted[key], wanted[job.key] - 1)
        return wanted

    @cached_property
    def late_costs(self) -> dict[str, int]:
        """What it costs to have each piece of dated work late.

        One hazard costs more than all work that is none, together.
        """
        dated = [job for job in self.placeable if job.due is not None]
        above = 1 + sum(job.weight for job in dated if not job.is_hazard)
        return {job.key: job.weight + (above if job.is_hazard else 0) for job in dated}


def may_do(worker: Worker, job: Job) -> bool:
    """Whether the work is theirs, or nobody's and they can do it."""
    return job.whose == worker.key if job.whose else job.skill in worker.skills


def last_or_never(job: Job) -> int:
    return NEVER if job.last_day is None else job.last_day


def able(problem: Problem, job: Job) -> list[Worker]:
    """Who could do it, those who can do least else first; of pinned work, its person."""
    found = [worker for worker in problem.workers if worker.in_all and may_do(worker, job)]
    if job.pin is not None:
        found = [worker for worker in found if worker.key == job.pin.worker]
    return sorted(found, key=lambda worker: (len(worker.skills), worker.key))


def quarters_of(hours: float) -> int:
    """Whole quarters of an hour, rounded up."""
    return math.ceil(round(hours * QUARTERS, 6))


def hours_in_words(quarters: int) -> str:
    """``2.5 h``."""
    return f"{quarters / QUARTERS:.10g} h"


def day_in_words(day: date) -> str:
    """``Monday 4 May``."""
    return f"{day:%A} {day.day} {day:%B}"


def check(problem: Problem) -> None:
    """Raises WrongInput unless a plan can be made of this.

    What nobody can do is no fault of the whole: see ``Problem.unplaceable``.
    """
    found = troubles(problem)
    if found:
        raise WrongInput(found)


def troubles(problem: Problem) -> list[Trouble]:
    """Everything that is wrong, each with a sentence that says what to do."""
    found = [trouble for worker in problem.workers for trouble in worker_troubles(worker)]
    if not any(worker.in_all for worker in problem.workers):
        found.append(
            Trouble("Nobody has any hours in these weeks. Set hours for at least one person.")
        )
    found += [trouble for job in problem.jobs for trouble in job_troubles(job, problem.first_day)]
    for job in problem.jobs:
        found += pin_troubles(job, problem) + _unknown(job, problem)
    return found + circular(problem.jobs)


def worker_troubles(worker: Worker) -> list[Trouble]:
    if not worker.skills:
        return [
            Trouble(
                f"{worker.name} has no skill, so no work can be given to them. Say what they can "
                "do, or leave them out of the plan.",
                worker=worker.key,
            )
        ]
    if worker.quarters and min(worker.quarters) < 0:
        return [Trouble(f"{worker.name} has a day with less than no hours.", worker=worker.key)]
    if not worker.in_all:
        return [
            Trouble(
                f"{worker.name} has no hours set in these weeks. Set the hours of their week, or "
                "leave them out of the plan.",
                worker=worker.key,
            )
        ]
    return []


def job_troubles(job: Job, first_day: date) -> list[Trouble]:
    """What is wrong with one piece of work by itself."""
    sentence = estimate_trouble(job.low, job.likely, job.high)
    found = [Trouble(f"{job.name}: {sentence}", job=job.key)] if sentence else []
    if job.due is not None and job.due < 0:
        day = first_day + timedelta(days=job.due)
        found.append(
            Trouble(
                f"{job.name}: its date, {day.day} {day:%B %Y}, has passed. Give it a new date, or "
                "take the date away.",
                job=job.key,
                about="date",
            )
        )
    if job.setting_days < 0:
        found.append(
            Trouble(
                f"{job.name}: the days of setting cannot be below zero. Give 0 for none.",
                job=job.key,
            )
        )
    return found


def estimate_trouble(low: float | None, likely: float | None, high: float | None) -> str:
    """What is wrong with an estimate, in a sentence; "" when nothing is."""
    if low is None or likely is None or high is None:
        return "no hours are estimated. Give low, likely and high hours."
    if not all(math.isfinite(one) for one in (low, likely, high)):
        return "the estimate is no number of hours. Give low, likely and high hours."
    if low < 0 or likely <= 0:
        return "the estimate has no hours in it. Give likely hours above zero."
    if high < low:
        return (
            f"the high estimate, {high:g} h, is less than the low one, {low:g} h. "
            "Exchange them, or put one right."
        )
    if not low <= likely <= high:
        return (
            f"the likely estimate, {likely:g} h, does not lie between the low one, {low:g} h, "
            f"and the high one, {high:g} h. Put one of the three right."
        )
    return ""


def circular(jobs: Iterable[Job]) -> list[Trouble]:
    """Work that waits for itself by way of others, with the chain; the first circle there is."""
    by_key = {job.key: job for job in jobs}
    waits = {key: [one for one in job.after if one in by_key] for key, job in by_key.items()}
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as error:
        chain = [by_key[key].name for key in reversed(error.args[1])]
        sentence = (
            f"These wait for each other in a circle: {' waits for '.join(chain)}. "
            "Let one of them wait no longer."
        )
        return [Trouble(sentence, job=error.args[1][0])]
    return []


def _unknown(job: Job, problem: Problem) -> list[Trouble]:
    return [
        Trouble(
            f"{job.name} waits for work that is not in the plan ({key}). Take that away.",
            job=job.key,
        )
        for key in job.after
        if key not in problem.by_key
    ]


def pin_troubles(job: Job, problem: Problem) -> list[Trouble]:
    """Whether its pin can be kept by itself."""
    if job.pin is None:
        return []
    take = "Take the pin away, or pin it elsewhere."
    worker = next((one for one in problem.workers if one.key == job.pin.worker), None)
    if worker is None:
        return [
            Trouble(
                f"{job.name} is pinned to somebody who is not here. {take}", job.key, about="pin"
            )
        ]
    day = job.pin.day
    named = day_in_words(problem.date_of(day))
    if day < job.not_before:
        until = day_in_words(problem.date_of(job.not_before))
        sentence = f"on {named}, but held until {until}"
    elif job.whose not in ("", worker.key):
        sentence = "but somebody else took it on"
    elif not may_do(worker, job):
        sentence = f"who cannot do {problem.named(job.skill)}"
    elif not 0 <= day < len(worker.quarters):
        sentence = f"on {named}, which is not in these weeks"
    elif not worker.quarters[day]:
        sentence = f"on {named}, when they have no hours"
    else:
        return []
    comma = "," if sentence.startswith(("who", "but")) else ""
    return [
        Trouble(
            f"{job.name} is pinned to {worker.name}{comma} {sentence}. {take}",
            job=job.key,
            about="pin",
        )
    ]
