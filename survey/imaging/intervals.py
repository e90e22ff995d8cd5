"""Intervals between chain lines, with what is known of each."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# Chain lines are "about 25 mm apart" (Roberts and Etherington, Bookbinding and the Conservation
# of Books, "chain lines"); wider than this, from memory, hardly ever.
WIDEST_MM = 35.0
# Wires bow: neighbours bow alike, and lines far apart do not. Standard deviation, from memory.
BOW_MM = 0.05


@dataclass(frozen=True)
class Measured:
    """A value and its standard uncertainty, in the same unit."""

    value: float
    u: float


@dataclass(frozen=True)
class ChainLine:
    """offset_mm  signed distance along the lines' normal from the origin of the side seen
    u_mm       its standard uncertainty
    own_u_mm   the part of it that is the line's own: not the placing of the whole sheet
    by         "picture" or "person"
    """

    offset_mm: float
    u_mm: float
    own_u_mm: float
    by: str = "picture"


@dataclass(frozen=True)
class Interval:
    """From one chain line to the next. ``whole`` is False where a line between is not seen."""

    mm: float
    u_mm: float
    whole: bool


@dataclass(frozen=True)
class Placing:
    """How well the sheet's corners are known, and what follows for lengths on it.

    Each corner is taken to be off by ``corner_mm`` (standard uncertainty, each way), on its own.
    """

    corner_mm: float
    width_mm: float
    height_mm: float

    def share_along(self, normal: tuple[float, float]) -> float:
        """Standard uncertainty of a length as a share of it, the sheet's mean, along a direction.

        The mean length of two edges, each between two corners: corner_mm / length.
        """
        across = normal[0] ** 2 / self.width_mm, normal[1] ** 2 / self.height_mm
        return self.corner_mm * math.hypot(*across)

    def share_at(self, normal: tuple[float, float], x_mm: float, y_mm: float) -> float:
        """The same at one place: away from the middle a skewed corner stretches more.

        First order of a homography through four points: along x it grows with
        2 · corner_mm / height at the left and right edge; along y likewise.
        """
        aside = 2 * x_mm / self.width_mm - 1, 2 * y_mm / self.height_mm - 1
        skew = (
            normal[0] ** 2 * 2 * aside[0] / self.height_mm,
            normal[1] ** 2 * 2 * aside[1] / self.width_mm,
        )
        return math.hypot(self.share_along(normal), self.corner_mm * math.hypot(*skew))

    def turn_deg(self) -> float:
        """Standard uncertainty of a direction on the sheet."""
        return math.degrees(self.corner_mm / min(self.width_mm, self.height_mm))

    def place_mm(self, normal: tuple[float, float]) -> float:
        """Standard uncertainty of a place along a direction, for a line across the sheet.

        In the middle the mean of four corners, and the skew that a homography adds to it, as
        great again on a square sheet; towards the edges, where only the nearest corners hold,
        up to one corner's own.
        """
        shape = math.hypot(
            normal[0] ** 2 * self.width_mm / self.height_mm,
            normal[1] ** 2 * self.height_mm / self.width_mm,
        )
        return self.corner_mm * max(1.0, math.hypot(0.5, 0.5 * shape))

    def offset_mm(self, angle_deg: float, angle_u_deg: float) -> float:
        """Standard uncertainty of the offset of lines in this direction.

        The line's place, known where it crosses the middle of the sheet, and its direction, over
        the length from there to the foot of the normal through the origin.
        """
        normal = normal_of(angle_deg)
        length = abs(self.height_mm * normal[0] - self.width_mm * normal[1]) / 2
        return math.hypot(self.place_mm(normal), length * math.radians(angle_u_deg))


def normal_of(angle_deg: float) -> tuple[float, float]:
    angle = math.radians(angle_deg)
    return math.cos(angle), math.sin(angle)


def intervals_of(
    lines: Sequence[ChainLine], angle_deg: float, placing: Placing
) -> tuple[Interval, ...]:
    """Each interval; not whole where it is half as wide again as is usual here, or wider than any
    should be, for then a line between was not seen."""
    gaps = [b.offset_mm - a.offset_mm for a, b in itertools.pairwise(lines)]
    usual = float(np.median(gaps)) if gaps else 0.0
    if len(gaps) > 2:
        usual = float(np.median([gap for gap in gaps if gap < 1.5 * min(usual, *gaps) + 1e-9]))
    normal = normal_of(angle_deg)
    middle = placing.width_mm / 2, placing.height_mm / 2
    centre = middle[0] * normal[0] + middle[1] * normal[1]
    told = []
    for (a, b), gap in zip(itertools.pairwise(lines), gaps, strict=True):
        away = (a.offset_mm + b.offset_mm) / 2 - centre
        at = middle[0] + away * normal[0], middle[1] + away * normal[1]
        u = math.hypot(a.own_u_mm, b.own_u_mm, gap * placing.share_at(normal, *at))
        by_hand = a.by == b.by == "person"
        told.append(Interval(gap, u, gap < 1.5 * usual and (by_hand or gap <= WIDEST_MM)))
    return tuple(told)


def mean_and_spread(
    intervals: Sequence[Interval], angle_deg: float, placing: Placing
) -> tuple[Measured | None, Measured | None]:
    """Of the whole intervals: their mean, and their standard deviation (None of fewer than 2)."""
    whole = [one for one in intervals if one.whole]
    if not whole:
        return None, None
    values = np.array([one.mm for one in whole])
    mean = float(values.mean())
    share = placing.share_along(normal_of(angle_deg))
    # Errors of inner lines cancel in the mean: only the ends of each run are left.
    own = [math.sqrt(max(one.u_mm**2 - (one.mm * share) ** 2, 0.0)) for one in whole]
    runs = 1 + sum(not one.whole for one in intervals)
    apart = math.hypot(float(np.mean(own)), math.sqrt(2) * BOW_MM)
    ends = math.sqrt(runs) * apart / len(whole)
    mean_u = math.hypot(ends, mean * share)
    if len(whole) < 2:
        return Measured(mean, mean_u), None
    spread = float(values.std(ddof=1))
    return Measured(mean, mean_u), Measured(spread, float(np.mean(own)) / math.sqrt(len(whole) - 1))
