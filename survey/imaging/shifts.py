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
    for _ in range(ROUNDS):
        middles, shifts = _tiles(fixed, settled(moving, matrix), most_mm * px_per_mm)
        agreeing = _agreeing(middles, shifts, AGREE_MM * px_per_mm)
        if agreeing.sum() < FEWEST_TILES:
            break
        certain = True
        step = _fitted(middles[agreeing], shifts[agreeing])
        # First the step within the fixed picture, then the matrix found so far.
        whole = np.vstack([matrix, [0, 0, 1]]) @ np.vstack([step, [0, 0, 1]])
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


def _tiles(fixed: Plane, moving: Plane, most_px: float) -> tuple[NDArray, NDArray]:
    """Middles and shifts (x, y), in pixels, of all tiles where a shift is clear."""
    rows, columns = fixed.shape
    side = min(TILE_PX, rows, columns)
    window = cv2.createHanningWindow((side, side), cv2.CV_32F)
    middles, shifts = [], []
    for top in _starts(rows, side):
        for left in _starts(columns, side):
            part = (slice(top, top + side), slice(left, left + side))
            (x, y), clear = cv2.phaseCorrelate(
                np.ascontiguousarray(fixed[part]), np.ascontiguousarray(moving[part]), window
            )
            if clear > CLEAR and max(abs(x), abs(y)) < most_px:
                middles.append((left + side / 2, top + side / 2))
                shifts.append((x, y))
    return np.array(middles).reshape(-1, 2), np.array(shifts).reshape(-1, 2)


def _starts(length: int, side: int) -> list[int]:
    count = min(MOST_TILES, max(1, length // side))
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
