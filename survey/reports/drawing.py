"""Draws on pictures what lies somewhere on the sheet: sheet millimetres to a picture's pixels."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import dist

Matrix = tuple[float, ...]
Point = Sequence[float]


@dataclass(frozen=True)
class Ground:
    """A picture to draw on.

    address        of the picture that is loaded
    name           what it shows, in words
    width, height  pixels; the drawing's own units, whatever size is loaded
    matrix         nine numbers, row by row: sheet mm on its side to these pixels
    """

    address: str
    name: str
    width: float
    height: float
    matrix: Matrix

    def place(self, point: Point) -> tuple[float, float]:
        """A point in sheet mm, on the picture."""
        return through(self.matrix, point)

    def points(self, points: Iterable[Point]) -> str:
        """As SVG writes them: ``12.5,40 80,41.2``."""
        return " ".join(f"{x:.6g},{y:.6g}" for x, y in map(self.place, points))

    @property
    def numbers(self) -> str:
        """The matrix, for a script."""
        return json.dumps(self.matrix)

    @property
    def text_size(self) -> float:
        """The size of a label, in the drawing's units: readable on a screen, hiding little."""
        return 0.022 * max(self.width, self.height)


def placed_ground(
    homography: Sequence[float], size: tuple[float, float], address: str, name: str
) -> Ground:
    """A photograph of this size in pixels, with its nine numbers to the sheet's millimetres."""
    return Ground(address, name, *size, inverse(homography))


def flat_ground(
    address: str, name: str, width_mm: float, height_mm: float, px_per_mm: float
) -> Ground:
    """A picture that shows the sheet alone, edge to edge."""
    matrix = (px_per_mm, 0.0, 0.0, 0.0, px_per_mm, 0.0, 0.0, 0.0, 1.0)
    return Ground(address, name, width_mm * px_per_mm, height_mm * px_per_mm, matrix)


def through(matrix: Sequence[float], point: Point) -> tuple[float, float]:
    """A point, mapped by nine numbers, row by row."""
    a, b, c, d, e, f, g, h, i = matrix
    x, y = point
    scale = g * x + h * y + i
    return (a * x + b * y + c) / scale, (d * x + e * y + f) / scale


def inverse(matrix: Sequence[float]) -> Matrix:
    """Of nine numbers, row by row; raises ZeroDivisionError where there is none."""
    a, b, c, d, e, f, g, h, i = matrix
    cofactors = (
        e * i - f * h,
        c * h - b * i,
        b * f - c * e,
        f * g - d * i,
        a * i - c * g,
        c * d - a * f,
        d * h - e * g,
        b * g - a * h,
        a * e - b * d,
    )
    determinant = a * cofactors[0] + b * cofactors[3] + c * cofactors[6]
    return tuple(one / determinant for one in cofactors)


def gathered(points: Sequence[tuple[float, float]], within: float) -> list[list[int]]:
    """The places of these points in groups, each of a first point and all others near to it."""
    groups: list[list[int]] = []
    for place, point in enumerate(points):
        near = (group for group in groups if dist(points[group[0]], point) < within)
        group = next(near, None)
        if group is None:
            groups.append([place])
        else:
            group.append(place)
    return groups
