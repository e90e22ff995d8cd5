"""Where a stain, a skinned place or a loss ends, in each of two pictures that lie on each other.

Inside and surround tell in which mixture of light and colour the place stands out most; where that
mixture has half its height, place by place along the border, is the edge.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_fill_holes, gaussian_filter1d, map_coordinates, median_filter

from survey.imaging.opened import Mask, Plane
from survey.imaging.outlines import disc, longest_contour, told_in_mm
from survey.imaging.rectified import smooth, spread_of

Points = NDArray[np.float64]

# The surround lies between these distances from the outline, and so much is looked at, mm.
NEAR_MM, FAR_MM, LOOKED_MM = 2.0, 7.0, 14.0
# Strokes of a drawing narrower than this are passed over; bays of an edge are closed, and its
# tongues cut off, that are narrower than twice that.
STROKE_MM, CLOSED_MM, OPENED_MM = 1.2, 1.5, 1.0
# A place is there when it stands out by so many spreads of its surround, nearly all of it by this
# share of that, and hardly anything about it does.
CLEAR, EVEN = 4.0, 0.35
# The edge is looked for so far to either side, on the mean of so much of it; each part is off by
# that much in all, whatever is done, and as much again all along it.
ACROSS_MM, STEP_MM, ALONG_MM = 3.0, 0.25, 4.0
EDGE_MM, ALL_ALONG_MM = 0.3, 0.08
# A place that is uneven within itself by more than this share has an edge that is no better known
# than this, for each further share.
EVENLY, BLOTCHED_MM = 0.15, 0.8
# Of the border, so much must show an edge.
LEAST_CLEAR = 0.75
# How blotched it is, is told by the areas with these shares of its height.
OTHER_LEVELS = (0.35, 0.65)
POINTS_OFF_MM = 0.15


@dataclass(frozen=True)
class Outlined:
    """area_mm2    inside the edge
    uncertainty_mm2    its standard uncertainty
    border_mm      how long the edge is
    at_levels_mm2  the area where it has a smaller, and a larger share of its height than half
    points         (n, 2) of the edge, sheet mm
    """

    area_mm2: float
    uncertainty_mm2: float
    border_mm: float
    at_levels_mm2: tuple[float, ...]
    points: tuple[tuple[float, float], ...]


def outlined(
    light: tuple[Plane, Plane], yellow: tuple[Plane, Plane], outline: Points, px_per_mm: float
) -> tuple[Outlined | None, Outlined | None]:
    """The place about this outline (sheet mm) in the earlier and the later picture; None where it
    does not stand out, or runs out of what was looked at."""
    rows, columns = light[0].shape
    low = np.floor((outline.min(axis=0) - LOOKED_MM) * px_per_mm).astype(int)
    high = np.ceil((outline.max(axis=0) + LOOKED_MM) * px_per_mm).astype(int)
    left, top = max(0, low[0]), max(0, low[1])
    part = slice(top, min(rows, high[1])), slice(left, min(columns, high[0]))
    inside = np.zeros((part[0].stop - top, part[1].stop - left), np.uint8)
    corners = np.round(outline * px_per_mm - (left, top)).astype(np.int32)
    cv2.fillPoly(inside, [corners.reshape(-1, 1, 2)], 1)
    ring = cv2.dilate(inside, disc(FAR_MM, px_per_mm)) > 0
    ring &= cv2.dilate(inside, disc(NEAR_MM, px_per_mm)) == 0
    core = cv2.erode(inside, disc(0.7, px_per_mm)) > 0
    if core.sum() < 12 or ring.sum() < 50:
        return None, None
    size = max(3, round(STROKE_MM * px_per_mm) | 1)
    seen = [
        [
            _flat(smooth(median_filter(plane[part], size), 0.25 * px_per_mm), ring)
            for plane in planes
        ]
        for planes in zip(light, yellow, strict=True)
    ]
    # In what mixture it stands out, by the picture that shows it more plainly.
    weights = max(
        (_mixture(planes, core, ring) for planes in seen), key=lambda one: float(np.abs(one).sum())
    )
    if not np.abs(weights).any():
        return None, None
    found = []
    for planes in seen:
        mixed = np.tensordot(weights, np.stack(planes), 1).astype(np.float32)
        found.append(_edge_of(mixed, core, ring, (left, top), px_per_mm))
    return found[0], found[1]


def _flat(plane: Plane, ring: Mask) -> Plane:
    """Without the even slope of light over the surround."""
    y, x = np.nonzero(ring)
    design = np.column_stack([np.ones(len(x)), x, y]).astype(np.float64)
    values = plane[ring].astype(np.float64)
    kept = np.ones(len(values), dtype=bool)
    for _ in range(4):
        solved, *_ = np.linalg.lstsq(design[kept], values[kept], rcond=None)
        left = values - design @ solved
        kept = np.abs(left) < 2.5 * spread_of(left) + 1e-6
    rows, columns = np.indices(plane.shape)
    return np.asarray(plane - (solved[0] + solved[1] * columns + solved[2] * rows), np.float32)


def _mixture(planes: list[Plane], core: Mask, ring: Mask) -> NDArray[np.float64]:
    """(k,): how much each plane counts: by how far it stands out, over its spread squared."""
    apart = np.array([np.median(plane[core]) for plane in planes])
    spread = np.array([max(spread_of(plane[ring]), 0.003) for plane in planes])
    return np.asarray(apart / spread**2 / 100)


def _edge_of(
    mixed: Plane, core: Mask, ring: Mask, corner: tuple[int, int], px_per_mm: float
) -> Outlined | None:
    level, spread = float(np.percentile(mixed[core], 60)), spread_of(mixed[ring])
    if level < CLEAR * spread or level <= 0:
        return None
    if np.percentile(mixed[core], 15) < EVEN * level or np.percentile(mixed[ring], 95) > level:
        return None
    whole = _whole(mixed > level / 2, core, px_per_mm)
    if whole is None:
        return None
    others = [_whole(mixed > share * level, core, px_per_mm) for share in OTHER_LEVELS]
    border = longest_contour(whole).reshape(-1, 2).astype(np.float64) + 0.5
    area = float(cv2.contourArea(border.astype(np.float32)))
    # The contour runs through the middles of its pixels.
    around = float(cv2.arcLength(border.astype(np.float32), True))
    area, border = area + around / 2, _evenly(border, px_per_mm * STEP_MM)
    moved, off, clear = _to_half_height(mixed, border, px_per_mm, CLEAR * spread)
    if clear < LEAST_CLEAR:
        return None
    step = around / len(border)
    area = (area + float(moved.sum()) * step) / px_per_mm**2
    whole_mm2 = float(whole.sum()) / px_per_mm**2
    length = around / px_per_mm
    parts = max(1.0, length / ALONG_MM)
    uneven = max(0.0, spread_of(mixed[core]) / level - EVENLY)
    uncertain = length * math.hypot(
        math.hypot(EDGE_MM, off) / math.sqrt(parts), ALL_ALONG_MM, BLOTCHED_MM * uneven
    )
    left, top = corner
    contour = np.round(longest_contour(whole)).astype(np.int32)
    levels = tuple(
        area if one is None else float(one.sum()) / px_per_mm**2 + area - whole_mm2
        for one in others
    )
    return Outlined(
        area, uncertain, length, levels, told_in_mm(contour, left, top, px_per_mm, POINTS_OFF_MM)
    )


def _whole(there: Mask, core: Mask, px_per_mm: float) -> Mask | None:
    """The one place among these that holds most of the core; None when it runs out of sight."""
    tidy = cv2.morphologyEx(there.astype(np.uint8), cv2.MORPH_CLOSE, disc(CLOSED_MM, px_per_mm))
    tidy = cv2.morphologyEx(tidy, cv2.MORPH_OPEN, disc(OPENED_MM, px_per_mm))
    _, labels = cv2.connectedComponents(tidy)
    named = np.bincount(labels[core], minlength=1)
    named[0] = 0
    if not named.any():
        return None
    whole = np.asarray(binary_fill_holes(labels == int(named.argmax())))
    runs_out = whole[0].any() or whole[-1].any() or whole[:, 0].any() or whole[:, -1].any()
    return None if runs_out else whole


def _evenly(ring: Points, step: float) -> Points:
    closed = np.vstack([ring, ring[:1]])
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    places = np.arange(0, run[-1], step)
    return np.column_stack([np.interp(places, run, closed[:, axis]) for axis in (0, 1)])


def _to_half_height(
    mixed: Plane, border: Points, px_per_mm: float, least: float
) -> tuple[NDArray[np.float64], float, float]:
    """How far outward of each point of the border, px, the place has half its height; by how
    much, mm, that differs from place to place; and along which share of the border an edge of at
    least that height is seen."""
    sigma = 0.5 * ALONG_MM / STEP_MM / 2
    even = np.column_stack([_round(border[:, axis], sigma) for axis in (0, 1)])
    tangent = np.roll(even, -1, axis=0) - np.roll(even, 1, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    out = np.column_stack([tangent[:, 1], -tangent[:, 0]])
    x, y = border.T
    if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 0:
        out = -out
    steps = np.arange(-ACROSS_MM, ACROSS_MM + STEP_MM / 2, STEP_MM) * px_per_mm
    places = border[:, None, :] + steps[None, :, None] * out[:, None, :] - 0.5
    seen = map_coordinates(mixed, [places[:, :, 1], places[:, :, 0]], order=1, mode="nearest")
    seen = np.column_stack([_round(column, 2 * sigma) for column in seen.T])
    middle = len(steps) // 2
    high = seen[:, : middle + 1].max(axis=1)
    low = np.median(seen[:, -round(1.5 / STEP_MM) :], axis=1)
    half = (high + low) / 2
    moved = np.zeros(len(border))
    found = 0
    for row, values in enumerate(seen):
        falls = np.flatnonzero((values[:-1] >= half[row]) & (values[1:] < half[row]))
        if len(falls):
            at = falls[np.abs(falls - middle).argmin()]
            share = (values[at] - half[row]) / max(values[at] - values[at + 1], 1e-9)
            moved[row] = steps[0] + (at + share) * STEP_MM * px_per_mm
            found += bool(high[row] - low[row] > least)
    most = 1.5 * px_per_mm
    moved = np.clip(moved, -most, most)
    return moved, spread_of(moved) / px_per_mm, found / len(border)


def _round(values: NDArray[np.float64], sigma: float) -> NDArray[np.float64]:
    return np.asarray(gaussian_filter1d(values, sigma, mode="wrap"))
