"""The plot of the distances between chain lines: one mark for each, with its uncertainty."""

from collections.abc import Sequence
from dataclasses import dataclass

from survey.desk.scales import WIDTH, Dot, Rule, Upward

HEIGHT = 200
LEFT = 56
RIGHT = 12
TOP = 14
BOTTOM = 40
# The least range that is drawn, mm: a tenth of a millimetre is no drama.
LEAST_RANGE_MM = 2.0


@dataclass(frozen=True)
class Plot:
    dots: tuple[Dot, ...]
    rules: tuple[Rule, ...]
    mean: Rule | None
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = HEIGHT - BOTTOM


def plot_of(intervals: Sequence[tuple[float, float]], mean_mm: float | None) -> Plot | None:
    """Of intervals in order from the first chain line, each with its uncertainty, in mm.

    None when there are none.
    """
    if not intervals:
        return None
    low = min(value - u for value, u in intervals)
    high = max(value + u for value, u in intervals)
    room = max(LEAST_RANGE_MM - (high - low), 0.1 * (high - low)) / 2
    low, high = low - room, high + room

    up = Upward(low, high, TOP, HEIGHT - BOTTOM)
    step_x = (WIDTH - LEFT - RIGHT) / len(intervals)
    dots = tuple(
        up.dot(number, round(LEFT + (number - 0.5) * step_x, 2), value, u)
        for number, (value, u) in enumerate(intervals, start=1)
    )
    mean = Rule(mean_mm, up.y(mean_mm)) if mean_mm is not None else None
    return Plot(dots, up.rules(), mean)
