"""Light as a sum: illuminance times hours, by calendar year, against a limit.

Illuminance in lx, time in h, exposure in lx·h. The sum rests on reciprocity: fading follows the
product of illuminance and time, however it is spread (CIE 157:2004, from memory). It counts
visible light alone; ultraviolet is told apart from it.

Uncertainties are standard uncertainties. Those of several displays are added up, not their
squares: the same meter and the same habits of estimating stand behind them, so they err together
(JCGM 100:2008, 5.2.2, note 1, from memory). That errs on the safe side, and a display that is
split in two tells the same as the whole.
"""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum

HOURS_A_DAY = 24.0
DAYS_A_WEEK = 7.0
# About 95 of 100 true values lie within (JCGM 100:2008, 6.3.3, from memory).
COVERAGE = 2.0
# Less than this, in lx·h, is nothing: no meter and no clock tells it.
LEAST = 0.5


@dataclass(frozen=True)
class Exposure:
    """lx·h, with its standard uncertainty in lx·h."""

    lux_hours: float = 0.0
    uncertainty: float = 0.0

    def __add__(self, other: "Exposure") -> "Exposure":
        return Exposure(self.lux_hours + other.lux_hours, self.uncertainty + other.uncertainty)


@dataclass(frozen=True)
class Spell:
    """Some days in light, both ends counted.

    lux                  illuminance on the object, lx
    hours_a_day          on a day when it is lit, h; None where hours_in_all tells
    days_a_week          on how many days of a week it is lit, on average
    hours_in_all         h over all days; None where hours_a_day tells
    uncertainty_percent  standard uncertainty of the exposure, % of it
    """

    first: date
    last: date
    lux: float
    hours_a_day: float | None = None
    days_a_week: float = DAYS_A_WEEK
    hours_in_all: float | None = None
    uncertainty_percent: float = 0.0

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def hours(self) -> float:
        """h of light in all. Closed days are spread evenly over the weeks."""
        if self.hours_in_all is not None:
            return self.hours_in_all
        return (self.hours_a_day or 0.0) * self.days * self.days_a_week / DAYS_A_WEEK


class State(Enum):
    """How an exposure stands to a limit."""

    NO_LIMIT = "no limit"
    WITHIN = "within the limit"
    PERHAPS_OVER = "within the limit, but no further than its uncertainty"
    USED_UP = "used up"
    OVER = "over the limit"


@dataclass(frozen=True)
class Balance:
    """What is used of a limit, in lx·h a year; ``limit`` is None where there is none."""

    used: Exposure
    limit: float | None

    @property
    def left(self) -> Exposure | None:
        """What remains, below zero when the limit is passed; as uncertain as what is used."""
        if self.limit is None:
            return None
        return Exposure(self.limit - self.used.lux_hours, self.used.uncertainty)

    @property
    def percent(self) -> float | None:
        return None if self.limit is None else 100 * self.used.lux_hours / self.limit

    @property
    def state(self) -> State:
        if self.left is None:
            return State.NO_LIMIT
        if self.left.lux_hours <= -LEAST:
            return State.OVER
        if self.left.lux_hours < LEAST:
            return State.USED_UP
        if self.left.lux_hours < COVERAGE * self.left.uncertainty:
            return State.PERHAPS_OVER
        return State.WITHIN


def exposure_of(spell: Spell) -> Exposure:
    """The exposure of all its days: lux × hours."""
    lux_hours = spell.lux * spell.hours
    return Exposure(lux_hours, lux_hours * spell.uncertainty_percent / 100)


def part_of(spell: Spell, first: date, last: date) -> Exposure:
    """The exposure of those of its days that lie between two days, both counted.

    Every day has the same share of the hours.
    """
    share = _days_within(spell.first, spell.last, first, last) / spell.days
    whole = exposure_of(spell)
    return Exposure(whole.lux_hours * share, whole.uncertainty * share)


def by_year(spells: Iterable[Spell]) -> dict[int, Exposure]:
    """The exposure in each calendar year that has any of the days, earliest first."""
    years: defaultdict[int, Exposure] = defaultdict(Exposure)
    for spell in spells:
        for year in range(spell.first.year, spell.last.year + 1):
            years[year] += part_of(spell, date(year, 1, 1), date(year, 12, 31))
    return dict(sorted(years.items()))


def until(spells: Iterable[Spell], day: date) -> Exposure:
    """What there was of it until the end of a day."""
    return sum((part_of(spell, date.min, day) for spell in spells), Exposure())


def days_that_last(left_lux_hours: float, spell: Spell) -> int | None:
    """How many whole days, closed ones counted, what is left lasts at the pace of a spell.

    None where the spell has no light.
    """
    a_day = exposure_of(spell).lux_hours / spell.days
    return max(0, math.floor(left_lux_hours / a_day + 1e-9)) if a_day > 0 else None


def days_of_year(first: date, last: date, year: int) -> int:
    """How many days between two days, both counted, lie in a calendar year."""
    return _days_within(first, last, date(year, 1, 1), date(year, 12, 31))


def _days_within(first: date, last: date, start: date, end: date) -> int:
    """How many days two stretches share, both ends counted."""
    return max(0, (min(last, end) - max(first, start)).days + 1)
