"""A straight line through measurements in time, each with its uncertainty."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from scipy.special import chdtrc

FEWEST = 3
DAYS_A_YEAR = 365.25
# Points lie further off a line than their uncertainties let expect, when chance alone would do
# that in less than this share of cases. Common practice, no source.
UNLIKELY = 0.05


@dataclass(frozen=True)
class Value:
    """One measurement: when, how much, and its standard uncertainty in the same unit."""

    at: datetime
    value: float
    uncertainty: float


@dataclass(frozen=True)
class Trend:
    """A straight line by weighted least squares.

    a_year, a_year_u   slope and its standard uncertainty, units a year
    middle             when the line is known best: years after ``start``
    level, level_u     its height there
    start              the first measurement
    years              from the first to the last
    widened            how many times the uncertainties were widened, since the points lie further
                       off than they let expect; 1 when they do not
    """

    a_year: float
    a_year_u: float
    middle: float
    level: float
    level_u: float
    start: datetime
    years: float
    widened: float

    def at(self, moment: datetime) -> tuple[float, float]:
        """Height of the line then, and its standard uncertainty."""
        off = years_between(self.start, moment) - self.middle
        return self.level + self.a_year * off, math.hypot(self.level_u, self.a_year_u * off)


def years_between(start: datetime, end: datetime) -> float:
    return (end - start).total_seconds() / 86_400 / DAYS_A_YEAR


def trend_of(values: Sequence[Value]) -> Trend | None:
    """None for fewer than three measurements at different times, or without uncertainties.

    Weights are 1/u². Where the sum of squares left over says that the points scatter by more than
    that, the uncertainties are widened by its root over the degrees of freedom (the Birge ratio).
    """
    values = sorted(values, key=lambda one: one.at)
    if len({one.at for one in values}) < FEWEST or any(one.uncertainty <= 0 for one in values):
        return None
    start = values[0].at
    years = np.array([years_between(start, one.at) for one in values])
    heights = np.array([one.value for one in values])
    weights = 1 / np.array([one.uncertainty for one in values]) ** 2
    middle, level = (float(weights @ one / weights.sum()) for one in (years, heights))
    spread = float(weights @ (years - middle) ** 2)
    a_year = float(weights @ ((years - middle) * (heights - level))) / spread
    left = float(weights @ (heights - level - a_year * (years - middle)) ** 2)
    free = len(values) - 2
    widened = max(1.0, math.sqrt(left / free)) if chdtrc(free, left) < UNLIKELY else 1.0
    return Trend(
        a_year,
        widened / math.sqrt(spread),
        middle,
        level,
        widened / math.sqrt(float(weights.sum())),
        start,
        float(years[-1]),
        widened,
    )
