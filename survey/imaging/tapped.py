"""Whether tapped points can be what they are said to be, in sentences for who tapped them."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]

# Two taps nearer than this many times the error of one tell nothing.
NEAREST_TAPS = 10
CORNERS = ("top left corner", "top right corner", "bottom right corner", "bottom left corner")
# A corner flatter than this is no corner.
LEAST_SINE = 0.03


class WrongPoints(ValueError):
    """The tapped points cannot be what they are said to be. The message says what to do."""


def finite(points_px: ArrayLike, many: int, request: str) -> Points:
    points = np.asarray(points_px, dtype=np.float64)
    if points.shape != (many, 2) or not np.isfinite(points).all():
        raise WrongPoints(request)
    return points


def within(points: Points, picture_px: tuple[int, int] | None, names: Sequence[str]) -> None:
    if picture_px is None:
        return
    for name, point in zip(names, points, strict=True):
        if not (0 <= point[0] <= picture_px[0] and 0 <= point[1] <= picture_px[1]):
            raise WrongPoints(f"The {name} lies outside the picture. Tap it again.")


def far_enough(points: Points, tap_px: float, names: Sequence[str]) -> None:
    for (one, a), (other, b) in combinations(zip(names, points, strict=True), 2):
        apart = float(np.linalg.norm(a - b))
        if apart < NEAREST_TAPS * tap_px:
            raise WrongPoints(
                f"The {one} and the {other} are only {apart:.0f} pixels apart: too near to measure "
                "by. Tap them again, or come closer and photograph the sheet anew."
            )


def convex(points: Points) -> None:
    """Raise unless the four corners go round clockwise, as the corners of any sheet seen do."""
    ahead = np.roll(points, -1, axis=0) - points
    behind = points - np.roll(points, 1, axis=0)
    turn = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    sines = turn / (np.linalg.norm(ahead, axis=1) * np.linalg.norm(behind, axis=1))
    again = "Tap top left, top right, bottom right, bottom left, in this order."
    flattest = int(np.argmin(np.abs(sines)))
    if abs(sines[flattest]) < LEAST_SINE:
        raise WrongPoints(
            f"The {CORNERS[flattest]} lies on a line with its two neighbours. {again}"
        )
    if (sines < 0).all():
        raise WrongPoints(f"The corners were tapped anticlockwise. {again}")
    if (sines < 0).sum() == 2:
        raise WrongPoints(f"The edges between the corners cross. {again}")
    if (sines < 0).any():
        odd = int(np.argmin(sines)) if (sines < 0).sum() == 1 else int(np.argmax(sines))
        raise WrongPoints(
            f"The {CORNERS[odd]} lies inside the other three, which no flat sheet does. {again}"
        )


def crosses_itself(points: Points) -> bool:
    """Whether two edges of the outline that are not neighbours meet."""
    start, step = points, np.roll(points, -1, axis=0) - points
    many = len(points)
    # side[i, k]: on which side of edge i the corner k lies.
    to = points[None, :, :] - start[:, None, :]
    side = np.sign(step[:, None, 0] * to[:, :, 1] - step[:, None, 1] * to[:, :, 0])
    parted = side * np.roll(side, -1, axis=1) < 0
    apart = (np.arange(many)[:, None] - np.arange(many)) % many
    return bool((parted & parted.T & (apart > 1) & (apart < many - 1)).any())
