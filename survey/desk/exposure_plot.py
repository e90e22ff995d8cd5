"""The plot of light by calendar year: a bar each, with its uncertainty, and the limit across."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from survey.desk.exposure_words import grouped
from survey.desk.scales import WIDTH, Rule, Upward, round_step
from survey.loans.exposure import Exposure

HEIGHT = 260
LEFT = 84
RIGHT = 12
TOP = 34
FOOT = 224
# Wider bars would look like areas, more years would not be read.
WIDEST_BAR = 56.0
MOST_YEARS = 30
# Years are named no closer than this.
LEAST_STEP = 40.0


@dataclass(frozen=True)
class Bar:
    """One year: what is noted, what a proposal would add, and how far the uncertainty reaches.

    named  whether there is room for the year's number below it
    """

    year: int
    x: float
    width: float
    middle: float
    noted_y: float
    noted_height: float
    proposed_y: float
    proposed_height: float
    top: float
    bottom: float
    has_light: bool
    named: bool


@dataclass(frozen=True)
class Limit:
    y: float
    name: str


@dataclass(frozen=True)
class Plot:
    bars: tuple[Bar, ...]
    rules: tuple[tuple[Rule, str], ...]
    limit: Limit | None
    earlier: int
    has_proposal: bool
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = FOOT


def plot_of(
    noted: Mapping[int, Exposure],
    proposed: Mapping[int, Exposure],
    limit: float | None,
    this_year: int,
) -> Plot | None:
    """Of the lux hours by year; None when there are none.

    Every year from the first to the last is drawn, dark ones too, but no more than MOST_YEARS;
    ``earlier`` says how many were left out.
    """
    if not noted and not proposed:
        return None
    known = [*noted, *proposed]
    last = max(*known, this_year)
    first = min(known)
    earlier = max(0, last - first + 1 - MOST_YEARS)
    years = range(first + earlier, last + 1)
    none = Exposure()
    sums = {year: noted.get(year, none) + proposed.get(year, none) for year in years}
    high = max(limit or 0.0, *(one.lux_hours + one.uncertainty for one in sums.values())) or 1.0
    step = round_step(high)
    high = math.ceil(high / step) * step
    up = Upward(0.0, high, TOP, FOOT)
    room = (WIDTH - LEFT - RIGHT) / len(years)
    width = round(min(WIDEST_BAR, 0.7 * room), 2)
    every = math.ceil(LEAST_STEP / room)

    def bar(place: int, year: int) -> Bar:
        middle = round(LEFT + (place + 0.5) * room, 2)
        base = noted.get(year, none).lux_hours
        total = sums[year]
        return Bar(
            year,
            round(middle - width / 2, 2),
            width,
            middle,
            up.y(base),
            round(FOOT - up.y(base), 2),
            up.y(total.lux_hours),
            round(up.y(base) - up.y(total.lux_hours), 2),
            up.y(total.lux_hours + total.uncertainty),
            up.y(max(0.0, total.lux_hours - total.uncertainty)),
            total.lux_hours > 0,
            (last - year) % every == 0,
        )

    rules = tuple((rule, grouped(rule.value)) for rule in up.rules())
    return Plot(
        tuple(bar(place, year) for place, year in enumerate(years)),
        rules,
        Limit(up.y(limit), f"limit {grouped(limit)} lx·h") if limit is not None else None,
        earlier,
        bool(proposed),
    )
