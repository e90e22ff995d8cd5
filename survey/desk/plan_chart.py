"""A week plan as a table for each week: a row for each person, a column for each day."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
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


@dataclass(frozen=True)
class Cell:
    """One person's day."""

    day: date
    there: int
    used: int
    blocks: tuple[Block, ...]
    is_past: bool

    @property
    def is_full(self) -> bool:
        return self.there > 0 and self.used >= self.there

    @property
    def percent(self) -> int:
        return round(100 * self.used / self.there) if self.there else 0

    @property
    def in_words(self) -> str:
        """``6 h of 7 h``."""
        if not self.there:
            return "not there"
        return f"{hours_in_words(self.used)} of {hours_in_words(self.there)}"


@dataclass(frozen=True)
class Line:
    """One person's week."""

    key: str
    name: str
    cells: tuple[Cell, ...]

    @property
    def there(self) -> int:
        return sum(cell.there for cell in self.cells)

    @property
    def in_words(self) -> str:
        used = sum(cell.used for cell in self.cells)
        return f"{hours_in_words(used)} of {hours_in_words(self.there)}"


@dataclass(frozen=True)
class Week:
    """``number`` from 0, the week of the plan's first day."""

    number: int
    monday: date
    days: tuple[date, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Filled:
    """How full one person is over the weeks that are shown, in quarters of an hour."""

    name: str
    there: int
    used: int

    @property
    def is_full(self) -> bool:
        return self.there > 0 and self.used >= self.there

    @property
    def in_words(self) -> str:
        return f"{hours_in_words(self.used)} of {hours_in_words(self.there)}"

    @property
    def percent(self) -> int:
        return round(100 * self.used / self.there) if self.there else 0


def weeks_of(result: Result, weeks: int, today: date, pinned: Collection[str]) -> list[Week]:
    """The weeks of a plan that have not passed, in which days at weekends are shown where anybody
    has hours on one."""
    late = {one["key"]: in_short(one["days"]) for one in result["late"]}
    blocks: dict[tuple[str, int], list[Block]] = {}
    for one in sorted(result["work"], key=lambda one: (one["begins"], one["done"], one["name"])):
        whole = sum(quarters for _, quarters in one["parts"])
        for day, quarters in one["parts"]:
            blocks.setdefault((one["person"], day), []).append(
                _block(one, day, quarters, whole, late, pinned)
            )
    found = [_week(result, number, today, blocks) for number in range(weeks)]
    return [week for week in found if week.days[-1] >= today]


def filled(result: Result, weeks: int) -> list[Filled]:
    """Who is full, the fullest first."""
    days = weeks * DAYS_A_WEEK
    used: dict[str, int] = {}
    for one in result["work"]:
        for day, quarters in one["parts"]:
            if day < days:
                used[one["person"]] = used.get(one["person"], 0) + quarters
    found = [
        Filled(one["name"], sum(one["quarters"][:days]), used.get(one["key"], 0))
        for one in result["people"]
    ]
    return sorted(found, key=lambda one: (-one.percent, one.name))


def _block(
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
    lines = tuple(
        Line(
            one["key"],
            one["name"],
            tuple(
                _cell(result, one, day, tuple(blocks.get((one["key"], day), ())), today)
                for day in shown
            ),
        )
        for one in result["people"]
    )
    monday = day_of(result, first)
    return Week(number, monday, tuple(monday + timedelta(days=day - first) for day in shown), lines)


def _cell(
    result: Result, person: Mapping[str, Any], day: int, blocks: tuple[Block, ...], today: date
) -> Cell:
    used = sum(
        quarters
        for one in result["work"]
        if one["person"] == person["key"]
        for at, quarters in one["parts"]
        if at == day
    )
    when = day_of(result, day)
    return Cell(when, person["quarters"][day], used, blocks, when < today)
