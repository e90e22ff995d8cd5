"""How far two rectified photographs of one sheet still lie apart, and setting that right.

Phase correlation (C. D. Kuglin and D. C. Hines, "The phase correlation image alignment method",
IEEE Conference on Cybernetics and Society, 1975), tile by tile: it looks for the drawing that
both photographs show, not for how bright they are. A blank sheet tells nothing, and then nothing
is claimed.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.opened import Plane
from survey.imaging.rectified import smooth, spread_of

TILE_PX = 192
MOST_TILES = 9  # along each edge of the sheet
# Share of a tile's phases that agree on one shift; unrelated grain stays below.
CLEAR = 0.5
FEWEST_TILES = 3
AGREE_MM = 0.25
ROUNDS = 2

LOCAL_TILE_MM = 14.0
LEAST_SHIFT_PX = 0.25


@dataclass(frozen=True)
class Shift:
    """matrix   2 × 3: pixels of the fixed picture to those of the moving one
    apart_mm    how far they lie apart, median over the sheet
    certain     False when too little is seen in both to tell; matrix then moves nothing
    """

    matrix: NDArray[np.float64]
    apart_mm: float
    certain: bool


def detail(luminance: Plane, px_per_mm: float) -> Plane:
    """What is drawn: fine differences of the logarithm of light, free of slow shading."""
    logarithm = np.log(luminance + np.float32(0.02))
    return logarithm - smooth(logarithm, 2 * px_per_mm)


def shift_between(fixed: Plane, moving: Plane, px_per_mm: float, most_mm: float = 3.0) -> Shift:
    """The slight turn, stretch and shift from ``fixed`` to ``moving``: both as of ``detail``.

    Shifts beyond ``most_mm`` are not believed.
    """
    matrix = np.array([[1.0, 0, 0], [0, 1, 0]])
    certain = False
    side = min(TILE_PX, *fixed.shape)
    step = max(side, max(fixed.shape) // MOST_TILES)
    for _ in range(ROUNDS):
        middles, shifts = _tiles(fixed, settled(moving, matrix), most_mm * px_per_mm, side, step)
        agreeing = _agreeing(middles, shifts, AGREE_MM * px_per_mm)
        if agreeing.sum() < FEWEST_TILES:
            break
        certain = True
        nearer = _fitted(middles[agreeing], shifts[agreeing])
        # First the step within the fixed picture, then the matrix found so far.
        whole = np.vstack([matrix, [0, 0, 1]]) @ np.vstack([nearer, [0, 0, 1]])
        matrix = whole[:2]
    rows, columns = fixed.shape
    places = np.array([(x * columns, y * rows) for x in (0.2, 0.5, 0.8) for y in (0.2, 0.5, 0.8)])
    moved = places @ matrix[:, :2].T + matrix[:, 2] - places
    apart = float(np.median(np.hypot(moved[:, 0], moved[:, 1]))) / px_per_mm
    return Shift(matrix, apart, certain)


def settled(moving: NDArray, matrix: NDArray[np.float64]) -> NDArray:
    """The moving picture brought onto the fixed one; unchanged where nothing is to move."""
    if np.allclose(matrix, [[1, 0, 0], [0, 1, 0]], atol=1e-9):
        return moving
    rows, columns = moving.shape[:2]
    return cv2.warpAffine(
        moving,
        matrix,
        (columns, rows),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )


def _tiles(
    fixed: Plane, moving: Plane, most_px: float, side: int, step: int
) -> tuple[NDArray, NDArray]:
    """Middles and shifts (x, y), in pixels, of all tiles where a shift is clear."""
    rows, columns = fixed.shape
    window = cv2.createHanningWindow((side, side), cv2.CV_32F)
    middles, shifts = [], []
    for top in _starts(rows, side, step):
        for left in _starts(columns, side, step):
            part = (slice(top, top + side), slice(left, left + side))
            (x, y), clear = cv2.phaseCorrelate(
                np.ascontiguousarray(fixed[part]), np.ascontiguousarray(moving[part]), window
            )
            if clear > CLEAR and max(abs(x), abs(y)) < most_px:
                middles.append((left + side / 2, top + side / 2))
                shifts.append((x, y))
    return np.array(middles).reshape(-1, 2), np.array(shifts).reshape(-1, 2)


def _starts(length: int, side: int, step: int) -> list[int]:
    count = max(1, (length - side) // step + 1)
    return [int(start) for start in np.linspace(0, length - side, count)]


def _agreeing(middles: NDArray, shifts: NDArray, near_px: float) -> NDArray[np.bool_]:
    """Tiles whose shift is like that of most; a turn of the sheet spreads them somewhat."""
    if len(shifts) == 0:
        return np.zeros(0, dtype=bool)
    away = np.abs(shifts - np.median(shifts, axis=0)).max(axis=1)
    return away < max(near_px, 3 * spread_of(shifts))


def _fitted(middles: NDArray, shifts: NDArray) -> NDArray[np.float64]:
    """A 2 × 3 matrix through the shifts: affine where six tiles or more tell, else a shift."""
    if len(shifts) < 6:
        step = np.array([[1.0, 0, 0], [0, 1, 0]])
        step[:, 2] = np.median(shifts, axis=0)
        return step
    found, _ = cv2.estimateAffine2D(
        middles, middles + shifts, method=cv2.RANSAC, ransacReprojThreshold=1.0
    )
    if found is None or np.abs(found[:, :2] - np.eye(2)).max() > 0.02:
        return _fitted(middles[:1], np.median(shifts, axis=0)[None, :])
    return np.asarray(found)


def locally_settled(
    fixed: Plane, moving: Plane, carried: NDArray, px_per_mm: float, most_mm: float
) -> NDArray:
    """``carried`` brought onto ``fixed`` where places of the sheet have moved on their own.

    fixed, moving  as of ``detail``, already settled as wholes; ``carried`` lies as ``moving``

    A cockled sheet lies flatter under one light than another. Shifts are measured in small
    tiles, believed up to ``most_mm``, and carried smoothly over the sheet.
    """
    rows, columns = fixed.shape
    side = min(round(LOCAL_TILE_MM * px_per_mm), rows, columns)
    middles, shifts = _tiles(fixed, moving, most_mm * px_per_mm, side, side // 2)
    if len(shifts) < FEWEST_TILES:
        return carried
    away = np.abs(shifts - np.median(shifts, axis=0)).max(axis=1)
    if np.median(np.hypot(*shifts.T)) < LEAST_SHIFT_PX and np.percentile(away, 90) < LEAST_SHIFT_PX:
        return carried
    step = side / 2
    grid = (max(2, round(rows / step)), max(2, round(columns / step)))
    sums = np.zeros((*grid, 3), dtype=np.float32)
    for (x, y), (right, down) in zip(middles, shifts, strict=True):
        row = min(grid[0] - 1, int(y / rows * grid[0]))
        column = min(grid[1] - 1, int(x / columns * grid[1]))
        sums[row, column] += (right, down, 1)
    sums = cv2.GaussianBlur(sums, (0, 0), 1.0, borderType=cv2.BORDER_REFLECT)
    # A little weight of no shift: far from anything measured, nothing moves.
    field = sums[:, :, :2] / (sums[:, :, 2:] + np.float32(0.02))
    field = cv2.resize(field, (columns, rows), interpolation=cv2.INTER_CUBIC)
    x = np.arange(columns, dtype=np.float32)[None, :] + field[:, :, 0]
    y = np.arange(rows, dtype=np.float32)[:, None] + field[:, :, 1]
    return np.asarray(cv2.remap(carried, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE))
