"""The timeline of an object's states, and the plot of what was measured in them, both to scale."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from survey.desk.scales import WIDTH, Dot, Mark, Onward, Rule, Upward, round_step
from survey.desk.years import Series, State

HEIGHT, LEFT, RIGHT, TOP, FOOT = 240, 60, 20, 30, 200
# The timeline is as wide as the page.
LONG, LONG_HEIGHT, LINE_Y, ENDS = 800, 96, 44, 24
# Numbers of states that lie closer than this are raised in turn, so that none covers another.
NEAREST, RAISED = 30.0, 26.0
# Beyond the first and the last, so much of the time is drawn.
MARGIN = 0.04
# How finely the band about a straight line is drawn.
BAND_STEPS = 24


@dataclass(frozen=True)
class Stop:
    """A state on the timeline; ``y`` is the middle of its number."""

    state: State
    x: float
    y: float


@dataclass(frozen=True)
class Timeline:
    stops: tuple[Stop, ...]
    marks: tuple[Mark, ...]
    width: int = LONG
    height: int = LONG_HEIGHT
    line_y: int = LINE_Y


@dataclass(frozen=True)
class Plot:
    """line, band   of the straight line and its uncertainty, as SVG's points; "" without one"""

    dots: tuple[Dot, ...]
    rules: tuple[Rule, ...]
    marks: tuple[Mark, ...]
    unit: str
    line: str
    band: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = FOOT


def timeline_of(states: Sequence[State]) -> Timeline | None:
    """None without any state."""
    if not states:
        return None
    days = [one.examination.started_at for one in states]
    onward = Onward(days[0], days[-1], ENDS, LONG - ENDS)
    stops: list[Stop] = []
    for state, day in zip(states, days, strict=True):
        x = onward.x(day)
        level = 0
        if stops and x - stops[-1].x < NEAREST:
            level = 1 if stops[-1].y == LINE_Y else 0
        stops.append(Stop(state, x, LINE_Y - level * RAISED))
    return Timeline(tuple(stops), onward.marks() if len(set(days)) > 1 else ())


def plot_of(series: Series) -> Plot | None:
    """None for fewer than two measurements at different times."""
    days = [one.at for one in series.values]
    if len(set(days)) < 2:
        return None
    margin = timedelta(seconds=MARGIN * (max(days) - min(days)).total_seconds())
    onward = Onward(min(days) - margin, max(days) + margin, LEFT, WIDTH - RIGHT)
    low = min(one.value - one.uncertainty for one in series.values)
    high = max(one.value + one.uncertainty for one in series.values)
    step = round_step(high)
    # From nought, so that heights are to scale and a small change looks small.
    up = Upward(min(0.0, low), math.ceil(high / step) * step, TOP, FOOT)
    dots = tuple(
        up.dot(number, onward.x(one.at), one.value, one.uncertainty)
        for number, one in enumerate(series.values, start=1)
    )
    line, band = "", ""
    if series.trend is not None:
        first, last = min(days), max(days)
        moments = [first + (last - first) * step / BAND_STEPS for step in range(BAND_STEPS + 1)]
        heights = [series.trend.at(moment) for moment in moments]
        places = [onward.x(moment) for moment in moments]

        def joined(values: Sequence[float], xs: Sequence[float]) -> str:
            return " ".join(f"{x:g},{up.y(y):g}" for x, y in zip(xs, values, strict=True))

        line = joined([y for y, _ in heights], places)
        upper = joined([y + u for y, u in heights], places)
        lower = joined([y - u for y, u in reversed(heights)], places[::-1])
        band = f"{upper} {lower}"
    return Plot(dots, up.rules(), onward.marks(), series.unit, line, band)
