"""What the desk's plots share: values and days to places on a drawing, and the rules between."""

import math
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from survey.examination.trend import years_between

WIDTH = 640
MOST_STEPS = 5
MONTHS_A_RULE = 6


@dataclass(frozen=True)
class Rule:
    """A line across the plot, with the number beside it."""

    value: float
    y: float


@dataclass(frozen=True)
class Dot:
    """One value: its number, where it is drawn, and how far its uncertainty reaches."""

    number: int
    value: float
    x: float
    y: float
    top: float
    bottom: float


@dataclass(frozen=True)
class Mark:
    """A line up the plot, with the day's name below it."""

    name: str
    x: float


@dataclass(frozen=True)
class Upward:
    """Values from ``low`` at ``foot`` to ``high`` at ``top``, in the drawing's units."""

    low: float
    high: float
    top: float
    foot: float

    def y(self, value: float) -> float:
        share = (self.high - value) / (self.high - self.low)
        return round(self.top + share * (self.foot - self.top), 2)

    def dot(self, number: int, x: float, value: float, uncertainty: float) -> Dot:
        above, below = self.y(value + uncertainty), self.y(value - uncertainty)
        return Dot(number, value, x, self.y(value), above, below)

    def rules(self) -> tuple[Rule, ...]:
        """At round values, no more than MOST_STEPS steps."""
        step = round_step(self.high - self.low)
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return tuple(
            Rule(round(count * step, 10), self.y(count * step)) for count in range(first, last + 1)
        )


@dataclass(frozen=True)
class Onward:
    """Moments from ``first`` at ``left`` to ``last`` at ``right``, to scale."""

    first: datetime
    last: datetime
    left: float
    right: float

    def x(self, moment: datetime) -> float:
        whole = years_between(self.first, self.last)
        share = years_between(self.first, moment) / whole if whole > 0 else 0.5
        return round(self.left + share * (self.right - self.left), 2)

    def marks(self) -> tuple[Mark, ...]:
        """At the first day of years, or of half-years where there are few."""
        first, last = (timezone.localtime(one) for one in (self.first, self.last))
        step = round_step(years_between(self.first, self.last), (self.right - self.left) / 80)
        months = MONTHS_A_RULE if step < 1 else 12 * round(step)
        found = []
        year, month = first.year - first.year % max(1, months // 12), 1
        while (year, month) <= (last.year, last.month):
            day = first.replace(
                year=year, month=month, day=1, hour=0, minute=0, second=0, microsecond=0
            )
            if first <= day <= last:
                found.append(Mark(f"{day:%B %Y}" if months < 12 else str(year), self.x(day)))
            year, month = year + (month - 1 + months) // 12, (month - 1 + months) % 12 + 1
        return tuple(found)


def round_step(reach: float, most: float = MOST_STEPS) -> float:
    """1, 2 or 5 with as many noughts as leave no more than ``most`` steps."""
    if reach <= 0:
        return 1.0
    size = 10.0 ** math.floor(math.log10(reach))
    steps = (factor * size for factor in (0.1, 0.2, 0.5, 1, 2, 5, 10))
    return next(step for step in steps if reach / step <= most + 1e-9)
