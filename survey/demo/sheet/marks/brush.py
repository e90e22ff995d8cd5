"""Soft areas and distances to lines, from which every mark is made."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import distance_transform_edt

from survey.demo.sheet.geometry import Points, bounds
from survey.demo.sheet.noise import Field
from survey.demo.sheet.pen import filled
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet, Window, blurred

# Puts one mark on a sheet: its points come in the frame of the maps.
Stamp = Callable[[Sheet, Mark, Points, np.random.Generator], None]


@dataclass(frozen=True)
class LineField:
    """Every pixel of a window against a line: all of shape (rows, columns).

    distance  to the nearest point of the line, mm, no more than the reach asked for
    side      -1 or 1: which side of the line
    along     0 at its start, 1 at its end
    fade      1 on the line, falling to 0 at the reach: keeps a broad effect from ending in a step
    """

    window: Window
    distance: Field
    side: Field
    along: Field
    fade: Field


def near_line(sheet: Sheet, points: Points, reach_mm: float) -> LineField | None:
    """Distances to the line through ``points`` (recto frame); None if it lies off the sheet."""
    window = sheet.window(points, reach_mm)
    if window is None:
        return None
    x, y = window.grid()
    distance = np.full(window.shape, reach_mm, dtype=np.float32)
    side = np.ones(window.shape, dtype=np.float32)
    along = np.zeros(window.shape, dtype=np.float32)
    line = np.asarray(points, dtype=np.float32)
    lengths = np.hypot(*np.diff(line, axis=0).T)
    travelled = np.concatenate([[0.0], np.cumsum(lengths)])
    for index, (start, end) in enumerate(itertools.pairwise(line)):
        length = float(lengths[index])
        if length == 0:
            continue
        part = _about(window, start, end, reach_mm)
        dx, dy = (x[:, part[1]] - start[0]), (y[part[0], :] - start[1])
        ux, uy = (end - start) / length
        run = np.clip(dx * ux + dy * uy, 0, length)
        away = np.hypot(dx - run * ux, dy - run * uy)
        nearer = away < distance[part]
        distance[part] = np.where(nearer, away, distance[part])
        side[part] = np.where(nearer, np.sign(dx * uy - dy * ux), side[part])
        reached = (travelled[index] + run) / travelled[-1]
        along[part] = np.where(nearer, reached, along[part])
    fade = (1 - (distance / np.float32(reach_mm)) ** 2) ** 2
    return LineField(window, distance, side, along, fade)


def _about(
    window: Window, start: np.ndarray, end: np.ndarray, reach_mm: float
) -> tuple[slice, slice]:
    left, top, right, bottom = bounds([tuple(start), tuple(end)])
    rows, columns = window.shape

    def span(low: float, high: float, origin: float, count: int) -> slice:
        first = int(max(0, (low - reach_mm - origin) * window.px_per_mm))
        last = int(min(count, (high + reach_mm - origin) * window.px_per_mm + 1))
        return slice(first, max(first, last))

    return (
        span(top, bottom, window.top_mm, rows),
        span(left, right, window.left_mm, columns),
    )


@dataclass(frozen=True)
class Area:
    """A window, and 0…1 for how far each of its pixels belongs to the area."""

    window: Window
    share: Field

    @property
    def part(self) -> tuple[slice, slice]:
        return self.window.part


def soft_area(sheet: Sheet, outline: Points, soft_mm: float, margin_mm: float = 1.0) -> Area | None:
    """The inside of an outline with an edge ``soft_mm`` wide; None if it lies off the sheet.

    The window reaches ``margin_mm`` further than the soft edge does.
    """
    window = sheet.window(outline, 3 * soft_mm + margin_mm)
    if window is None:
        return None
    return Area(window, blurred(filled(window, outline), soft_mm * sheet.px_per_mm))


def depth_within(area: Area) -> Field:
    """Distance from each pixel inside the area to its edge, mm; 0 outside."""
    inside = distance_transform_edt(area.share > 0.5)
    return (inside / area.window.px_per_mm).astype(np.float32)


def colour(red: float, green: float, blue: float) -> Field:
    return np.array([red, green, blue], dtype=np.float32)
