"""Places of a mask as outlines in sheet mm, and the disc that rounds them."""

import math
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.opened import Mask

Contour = NDArray[np.int32]

# Overlaps are counted on a grid of this many cells a mm.
CELLS_PER_MM = 2.0


def disc(radius_mm: float, px_per_mm: float) -> NDArray[np.uint8]:
    return disc_of(max(1, round(radius_mm * px_per_mm)))


def disc_of(radius_px: int) -> NDArray[np.uint8]:
    side = 2 * radius_px + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def longest_contour(inside: Mask) -> Contour:
    """(n, 1, 2) x and y: it runs through the middles of the outermost pixels."""
    contours, _ = cv2.findContours(
        inside.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    return np.asarray(max(contours, key=len))


def told_in_mm(
    contour: Contour, left: int, top: int, px_per_mm: float, off_mm: float
) -> tuple[tuple[float, float], ...]:
    """The contour with as few points as lie within ``off_mm`` of it, in mm.

    left, top  the column and row at which its mask begins
    """
    kept = cv2.approxPolyDP(contour, off_mm * px_per_mm, True).reshape(-1, 2)
    return tuple(
        (round((left + x + 0.5) / px_per_mm, 2), round((top + y + 0.5) / px_per_mm, 2))
        for x, y in kept.astype(float)
    )


def around(line: Sequence[Sequence[float]], half_mm: float) -> list[tuple[float, float]]:
    """The outline of a line with some breadth: up on one side, back on the other."""
    left, right = [], []
    for place, (x, y) in enumerate(line):
        before, after = line[max(place - 1, 0)], line[min(place + 1, len(line) - 1)]
        dx, dy = after[0] - before[0], after[1] - before[1]
        length = math.hypot(dx, dy) or 1.0
        aside = (-dy / length * half_mm, dx / length * half_mm)
        left.append((x + aside[0], y + aside[1]))
        right.append((x - aside[0], y - aside[1]))
    return left + right[::-1]


def apart_mm(one: Sequence[Sequence[float]], other: Sequence[Sequence[float]]) -> float:
    """Between two outlines or points, mm; 0 where they meet or one lies in the other."""
    rings = [np.asarray(points, dtype=np.float32).reshape(-1, 1, 2) for points in (one, other)]
    return max(
        0.0,
        min(
            -cv2.pointPolygonTest(ring, (x, y), True)
            for points, ring in (rings, rings[::-1])
            for x, y in points.reshape(-1, 2).tolist()
        ),
    )


def overlap(one: Sequence[Sequence[float]], other: Sequence[Sequence[float]]) -> float:
    """0…1: the share of the smaller outline that lies in the larger one."""
    corners = [np.asarray(points, dtype=np.float64).reshape(-1, 2) for points in (one, other)]
    low, high = (reach(np.vstack(corners), axis=0) for reach in (np.min, np.max))
    columns, rows = np.ceil((high - low) * CELLS_PER_MM).astype(int) + 1
    drawn = []
    for points in corners:
        mask = np.zeros((rows, columns), np.uint8)
        cells = np.round((points - low) * CELLS_PER_MM).astype(np.int32)
        cv2.fillPoly(mask, [cells.reshape(-1, 1, 2)], 1)
        drawn.append(mask > 0)
    smaller = min(int(mask.sum()) for mask in drawn)
    return float((drawn[0] & drawn[1]).sum()) / smaller if smaller else 0.0
