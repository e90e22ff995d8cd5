"""A week plan as a table for each week: a row for each person, a column for each day."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from survey.desk.plan_words import Result, day_of, in_short
from survey.triage.plan.problem import hours_in_words

WEEKDAYS = 5
DAYS_A_WEEK = 7


@dataclass(frozen=True)
class Block:
    """What is done of one piece of work by one person on one day.

    hours    of this day; ``of`` of the whole, where it goes on over days
    begins   whether it begins on this day, and ``ends`` whether it is done then
    late     in words; "" on time
    risk     days late if everything takes as long as it may
    held     the day until which it is held; None where it is not
    """

    key: str
    name: str
    hours: str
    of: str
    begins: bool
    ends: bool
    is_pinned: bool
    is_hazard: bool
    project: str
    late: str
    risk: int
    held: date | None


@dataclass(frozen=True)
class Fill:
    """How much of somebody's hours is given to work, in quarters of an hour."""

    there: int
    used: int

    @property
    def is_full(self) -> bool:
        return self.there > 0 and self.used >= self.there

    @property
    def percent(self) -> int:
        return round(100 * self.used / self.there) if self.there else 0

    @property
    def in_words(self) -> str:
        """``6 h of 7 h``."""
        return f"{hours_in_words(self.used)} of {hours_in_words(self.there)}"


@dataclass(frozen=True)
class Cell(Fill):
    """One person's day."""

    day: date
    blocks: tuple[Block, ...]
    is_past: bool

    @property
    def in_words(self) -> str:
        return super().in_words if self.there else "not there"


@dataclass(frozen=True)
class Line(Fill):
    """One person's week."""

    key: str
    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Week:
    """``number`` from 0, the week of the plan's first day."""

    number: int
    monday: date
    days: tuple[date, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Filled(Fill):
    """How full one person is over the weeks that are shown."""

    name: str


def weeks_of(result: Result, weeks: int, today: date, pinned: Collection[str]) -> list[Week]:
    """The weeks of a plan that have not passed, in which days at weekends are shown where anybody
    has hours on one."""
    late = {one["key"]: in_short(one["days"]) for one in result["late"]}
    blocks: dict[tuple[str, int], list[Block]] = {}
    for one in sorted(result["work"], key=lambda one: (one["begins"], one["done"], one["name"])):
        whole = sum(quarters for _, quarters in one["parts"])
        for day, quarters in one["parts"]:
            blocks.setdefault((one["person"], day), []).append(
                _block(result, one, day, quarters, whole, late, pinned)
            )
    found = [_week(result, number, today, blocks) for number in range(weeks)]
    return [week for week in found if week.days[-1] >= today]


def filled(result: Result, weeks: int) -> list[Filled]:
    """Who is full, the fullest first."""
    days = weeks * DAYS_A_WEEK
    used = _used(result)
    found = [
        Filled(
            sum(one["quarters"][:days]),
            sum(used.get((one["key"], day), 0) for day in range(days)),
            one["name"],
        )
        for one in result["people"]
    ]
    return sorted(found, key=lambda one: (-one.percent, one.name))


def _used(result: Result) -> dict[tuple[str, int], int]:
    """The quarters of an hour that are given to work, by person and day."""
    used: dict[tuple[str, int], int] = {}
    for one in result["work"]:
        for day, quarters in one["parts"]:
            used[one["person"], day] = used.get((one["person"], day), 0) + quarters
    return used


def _block(
    result: Result,
    one: Mapping[str, Any],
    day: int,
    quarters: int,
    whole: int,
    late: Mapping[str, str],
    pinned: Collection[str],
) -> Block:
    return Block(
        one["key"],
        one["name"],
        hours_in_words(quarters),
        hours_in_words(whole) if whole != quarters else "",
        one["begins"] == day,
        one["done"] == day,
        one["key"] in pinned,
        one["is_hazard"],
        one["project"],
        late.get(one["key"], ""),
        one["late_if_high"],
        # Plans made before held work was planned do not have it.
        day_of(result, one["not_before"]) if one.get("not_before") else None,
    )


def _week(
    result: Result, number: int, today: date, blocks: Mapping[tuple[str, int], list[Block]]
) -> Week:
    first = number * DAYS_A_WEEK
    shown = [
        day
        for day in range(first, first + DAYS_A_WEEK)
        if day - first < WEEKDAYS or any(one["quarters"][day] for one in result["people"])
    ]
    days = tuple(day_of(result, day) for day in shown)
    used = _used(result)

    def line(one: Mapping[str, Any]) -> Line:
        cells = tuple(
            Cell(
                one["quarters"][day],
                used.get((one["key"], day), 0),
                when,
                tuple(blocks.get((one["key"], day), ())),
                when < today,
            )
            for day, when in zip(shown, days, strict=True)
        )
        there, taken = sum(cell.there for cell in cells), sum(cell.used for cell in cells)
        return Line(there, taken, one["key"], one["name"], cells)

    return Week(number, day_of(result, first), days, tuple(line(one) for one in result["people"]))
