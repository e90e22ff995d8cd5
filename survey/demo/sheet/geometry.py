"""Points and outlines on the sheet, in millimetres: x right, y down, origin top left."""

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Points = tuple[Point, ...]


def mirrored(points: Iterable[Point], width_mm: float) -> Points:
    """The same places told from the other side of a sheet ``width_mm`` wide."""
    return tuple((width_mm - x, y) for x, y in points)


def clipped(points: Iterable[Point], width_mm: float, height_mm: float) -> Points:
    """``points`` moved to the nearest place on the sheet."""
    return tuple((min(max(x, 0.0), width_mm), min(max(y, 0.0), height_mm)) for x, y in points)


def rectangle(left: float, top: float, right: float, bottom: float) -> Points:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """(left, top, right, bottom)."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def centre(points: Points) -> Point:
    left, top, right, bottom = bounds(points)
    return (left + right) / 2, (top + bottom) / 2


def area(outline: Points) -> float:
    """Of a closed outline, in square millimetres."""
    total = 0.0
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        total += x0 * y1 - x1 * y0
    return abs(total) / 2


def blob(
    random: np.random.Generator,
    middle: Point,
    radius_mm: float,
    roughness: float = 0.25,
    corners: int = 40,
) -> Points:
    """A closed irregular outline about ``middle``: a circle with its first harmonics disturbed."""
    turn = np.linspace(0, 2 * math.pi, corners, endpoint=False)
    radius = np.ones(corners)
    for harmonic in range(2, 8):
        amount = roughness * random.normal() / harmonic**0.8
        radius += amount * np.cos(harmonic * turn + random.uniform(0, 2 * math.pi))
    radius = radius_mm * np.clip(radius, 0.3, 2.0)
    return tuple(
        (float(middle[0] + r * math.cos(t)), float(middle[1] + r * math.sin(t)))
        for r, t in zip(radius, turn, strict=True)
    )


def curve(controls: Sequence[Point], steps: int = 24) -> NDArray[np.float64]:
    """A smooth curve through ``controls`` (Catmull-Rom), as an array of (x, y)."""
    knots = np.asarray(controls, dtype=np.float64)
    if len(knots) < 3:
        return np.linspace(knots[0], knots[-1], steps)
    ends = np.vstack([2 * knots[0] - knots[1], knots, 2 * knots[-1] - knots[-2]])
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    parts = []
    for a, b, c, d in zip(ends[:-3], ends[1:-2], ends[2:-1], ends[3:], strict=True):
        parts.append(
            0.5
            * (
                2 * b
                + (c - a) * t
                + (2 * a - 5 * b + 4 * c - d) * t**2
                + (3 * b - a - 3 * c + d) * t**3
            )
        )
    return np.vstack([*parts, knots[-1:]])


def first_part(line: Points, share: float) -> Points:
    """The first part of a line, by its length."""
    places = np.asarray(line, dtype=np.float64)
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    end = share * steps[-1]
    kept = [(float(x), float(y)) for x, y in places[steps < end]]
    x, y = (float(np.interp(end, steps, places[:, axis])) for axis in (0, 1))
    return (*kept, (x, y))


def ribbon(points: Points, half_width_mm: float) -> Points:
    """The outline of a line given some breadth, for lines that must be told as regions."""
    line = np.asarray(points, dtype=np.float64)
    along = np.gradient(line, axis=0)
    length = np.hypot(along[:, 0], along[:, 1])
    length[length == 0] = 1
    across = np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None] * half_width_mm
    outline = np.vstack([line + across, (line - across)[::-1]])
    return tuple((float(x), float(y)) for x, y in outline)
