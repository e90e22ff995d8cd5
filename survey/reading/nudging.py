"""An alignment moved by hand: the least change that puts points on points."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import Matrix, mapped
from survey.reading.trouble import CannotPlace

MOST_POINTS = 20


def nudged(stands: Matrix, start: NDArray[np.float64], end: NDArray[np.float64]) -> Matrix:
    """The matrix that stands, moved so that each point of start comes to lie on its end.

    start, end  (n, 2): pixels of the photograph, and of the one it lies on. One pair shifts, two
                also turn and scale, three shear, four or more fit a whole new matrix

    Raises CannotPlace with a sentence.
    """
    count = len(start)
    if start.shape != end.shape or start.shape != (count, 2) or not 1 <= count <= MOST_POINTS:
        raise CannotPlace(f"Give 1 to {MOST_POINTS} points, each with the place it belongs to.")
    if not (np.isfinite(start).all() and np.isfinite(end).all()):
        raise CannotPlace("A point lies outside of the photograph. Set it again.")
    if count >= 4:
        return _sound(cv2.findHomography(start, end, 0)[0])
    moved = mapped(stands, start)
    change = np.eye(3)
    if count == 1:
        change[:2, 2] = end[0] - moved[0]
    elif count == 2:
        a, b = (complex(*(points[1] - points[0])) for points in (moved, end))
        if abs(a) < 1:
            raise CannotPlace("The two points lie on each other. Set them farther apart.")
        turn = b / a
        change[:2, :2] = [[turn.real, -turn.imag], [turn.imag, turn.real]]
        change[:2, 2] = end[0] - change[:2, :2] @ moved[0]
    else:
        change[:2] = cv2.getAffineTransform(moved.astype(np.float32), end.astype(np.float32))
    return _sound(change @ stands)


def _sound(matrix: Any) -> Matrix:
    if matrix is None or not np.isfinite(matrix).all() or abs(np.linalg.det(matrix)) < 1e-9:
        raise CannotPlace("The points lie on one line or on each other. Set them farther apart.")
    return np.asarray(matrix, dtype=np.float64)
