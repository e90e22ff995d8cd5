"""Small patches of two pictures laid on each other: how far apart each lies, and what fits all.

Two lights draw the same place differently: ink may turn from dark to bright, and relief comes
and goes. So patches are likened both by their tones, of either sign, and by where their tones
change, whichever of the two speaks more clearly.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import Matrix, Points, first_order, mapped

Plane = NDArray[np.float32]

# Tones are taken against their neighbourhood of this many pixels (standard deviation).
NEIGHBOURHOOD_PX = 10.0
# Contrast below this share of the picture's own range counts as flat paper and noise.
FLAT = 0.02
# A patch less alike than this says nothing.
LEAST_ALIKE = 0.35
# A patch whose tones spread less, in standard deviations of their neighbourhood, is flat.
LEAST_SPREAD = 0.2
# Peaks nearer than this are one; and a patch is sure when its second peak is below this share of
# its first, and its place is fixed to within about a pixel in every direction.
PEAK_PX = 3
CLEAR = 0.9
SURE = 1.0
# OpenCV counts from the middle of the first pixel, we from its corner.
CORNER = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
# Tukey's biweight at this many standard deviations has 95 % of the efficiency of least squares
# on normal errors.
TUKEY = 4.685


@dataclass(frozen=True)
class Matches:
    """points       (n, 2) middles of patches in the fixed picture, px
    shift        (n, 2) how far from there the moving picture shows the same, px
    information  (n, 2, 2) inverse covariance of each shift, 1 / px², up to a common factor
    alike        (n,) 0…1
    second       (n,) next best peak within reach, as a share of the best
    """

    points: Points
    shift: Points
    information: NDArray[np.float64]
    alike: NDArray[np.float64]
    second: NDArray[np.float64]

    def chosen(self, which: NDArray[np.bool_]) -> "Matches":
        return Matches(
            self.points[which],
            self.shift[which],
            self.information[which],
            self.alike[which],
            self.second[which],
        )

    @property
    def sure(self) -> NDArray[np.bool_]:
        """Which are fixed in both directions, by how they look and not by where they lie."""
        least = np.linalg.eigvalsh(self.information)[:, 0]
        return np.asarray((least > SURE) & (self.second < CLEAR))


def laid_over(moving: Plane, matrix: Matrix, shape: tuple[int, int]) -> tuple[Plane, Plane]:
    """The moving picture as the fixed one would show it, and where it shows anything (1)."""
    to_index = np.linalg.inv(CORNER) @ matrix @ CORNER
    size = shape[::-1]
    seen = cv2.warpPerspective(
        moving, to_index, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )
    there = cv2.warpPerspective(np.ones_like(moving), to_index, size, flags=cv2.INTER_NEAREST)
    return np.asarray(seen, dtype=np.float32), np.asarray(there, dtype=np.float32)


def against_neighbours(plane: Plane) -> Plane:
    """Tones as standard deviations from those about them, so that uneven light drops out."""
    low = cv2.GaussianBlur(plane, (0, 0), NEIGHBOURHOOD_PX)
    off = plane - low
    spread = np.sqrt(cv2.GaussianBlur(off * off, (0, 0), NEIGHBOURHOOD_PX))
    reach = float(np.subtract(*np.percentile(plane, (99, 1))))
    return np.clip(off / (spread + np.float32(max(FLAT * reach, 1e-6))), -3, 3)


def changes(tones: Plane) -> Plane:
    """How steeply tones change, whichever way."""
    soft = cv2.GaussianBlur(tones, (0, 0), 1.0)
    right, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    return np.asarray(cv2.sqrt(cv2.magnitude(right, down)), dtype=np.float32)


def matched(
    fixed: Plane, moving: Plane, matrix: Matrix, patch_px: int, reach_px: int, step_px: int
) -> Matches:
    """Look for each patch of the fixed picture in the moving one, within ``reach_px``.

    ``matrix`` takes pixels of the moving picture to the fixed one as known so far.
    """
    over, there = laid_over(moving, matrix, (fixed.shape[0], fixed.shape[1]))
    tones, others = against_neighbours(fixed), against_neighbours(over)
    edges, other_edges = changes(tones), changes(others)
    corners = _worth_looking(tones, others, there, patch_px, reach_px, step_px)
    if not len(corners):
        return Matches(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros((0, 2, 2)), *np.zeros((2, 0)))
    by_tone, by_edge = [], []
    for left, top in corners:
        here = np.s_[top : top + patch_px, left : left + patch_px]
        about = np.s_[
            top - reach_px : top + patch_px + reach_px, left - reach_px : left + patch_px + reach_px
        ]
        by_tone.append(cv2.matchTemplate(others[about], tones[here], cv2.TM_CCOEFF_NORMED))
        by_edge.append(cv2.matchTemplate(other_edges[about], edges[here], cv2.TM_CCOEFF_NORMED))
    likeness = _clearer(np.abs(np.array(by_tone)), np.array(by_edge))
    middles = corners.astype(np.float64) + patch_px / 2
    return _peaks(likeness, middles, patch_px * patch_px)


def _worth_looking(
    tones: Plane, others: Plane, there: Plane, patch_px: int, reach_px: int, step_px: int
) -> NDArray[np.int64]:
    """(n, 2) left and top of patches that are not flat and that the moving picture shows."""
    rows, columns = tones.shape
    across = np.arange(reach_px, columns - patch_px - reach_px + 1, step_px)
    down = np.arange(reach_px, rows - patch_px - reach_px + 1, step_px)
    left, top = (grid.ravel() for grid in np.meshgrid(across, down))
    at = np.s_[top + patch_px // 2, left + patch_px // 2]

    def spread(plane: Plane) -> Plane:
        size = (patch_px, patch_px)
        mean, square = cv2.blur(plane, size), cv2.blur(plane * plane, size)
        return np.sqrt(np.maximum(square - mean * mean, 0))[at]

    whole = np.ones((patch_px + 2 * reach_px,) * 2, np.uint8)
    shown = cv2.erode(there, whole)[at] > 0
    kept = shown & (spread(tones) > LEAST_SPREAD) & (spread(others) > LEAST_SPREAD)
    return np.column_stack([left, top])[kept]


def _clearer(one: Plane, other: Plane) -> Plane:
    """(n, rows, columns): of two maps of likeness the one whose peak stands out more from it."""
    clear = [
        (maps.max(axis=(1, 2)) - maps.mean(axis=(1, 2))) / (maps.std(axis=(1, 2)) + 1e-6)
        for maps in (one, other)
    ]
    return np.where((clear[0] >= clear[1])[:, None, None], one, other)


def _peaks(likeness: Plane, points: Points, pixels: int) -> Matches:
    """The highest peak of each map, between pixels; maps without a clear one are left out."""
    many, rows, columns = likeness.shape
    y, x = np.divmod(likeness.reshape(many, -1).argmax(axis=1), columns)
    kept = (x > 0) & (x < columns - 1) & (y > 0) & (y < rows - 1)
    kept &= likeness.max(axis=(1, 2)) > LEAST_ALIKE
    likeness, points, x, y = likeness[kept], points[kept], x[kept], y[kept]
    each = np.arange(len(x))[:, None, None]
    step = np.arange(-1, 2)
    near = likeness[each, y[:, None, None] + step[:, None], x[:, None, None] + step].astype(float)
    alike = near[:, 1, 1]
    curve = np.empty((len(x), 2, 2))
    curve[:, 0, 0] = 2 * alike - near[:, 1, 0] - near[:, 1, 2]
    curve[:, 1, 1] = 2 * alike - near[:, 0, 1] - near[:, 2, 1]
    curve[:, 0, 1] = (near[:, 0, 2] + near[:, 2, 0] - near[:, 0, 0] - near[:, 2, 2]) / 4
    curve[:, 1, 0] = curve[:, 0, 1]
    slope = np.column_stack([near[:, 1, 2] - near[:, 1, 0], near[:, 2, 1] - near[:, 0, 1]]) / 2
    values, axes = np.linalg.eigh(curve)
    curve = (axes * np.maximum(values, 1e-4)[:, None, :]) @ axes.transpose(0, 2, 1)
    off = np.clip(np.linalg.solve(curve, slope[:, :, None])[:, :, 0], -1, 1)
    shift = np.column_stack([x, y]) + off - ((columns - 1) / 2, (rows - 1) / 2)
    right, down = np.arange(columns) - x[:, None, None], np.arange(rows)[:, None] - y[:, None, None]
    away = np.hypot(right, down)
    second = np.where(away > PEAK_PX, likeness, 0).max(axis=(1, 2))
    # A patch of n independent values and correlation r fixes its place with a variance of
    # (1 - r²) / (n r) over the curvature of r. Of n, a pixel in ten is taken as independent.
    weight = pixels / 10 * alike / (1 - np.minimum(alike, 0.99) ** 2)
    return Matches(points, shift, curve * weight[:, None, None], alike, second / alike)


def fitted(matches: Matches, matrix: Matrix, size: tuple[int, int]) -> tuple[Matrix, Points]:
    """``matrix`` corrected so that the shifts vanish as well as they can, and what is left.

    By least squares with the information of each patch, repeated with Tukey's biweight: patches
    that contradict the others lose their say. ``size`` is (columns, rows) of the fixed picture.
    """
    middle, half = np.array(size) / 2, max(size) / 2
    to_one = np.diag([1 / half, 1 / half, 1.0])
    to_one[:2, 2] = -middle / half
    design = first_order(mapped(to_one, matches.points + matches.shift))
    goal = -matches.shift / half
    weight = np.ones(len(goal))
    for _ in range(12):
        strong = matches.information * weight[:, None, None]
        left = np.einsum("nip,nij,njq->pq", design, strong, design)
        right = np.einsum("nip,nij,nj->p", design, strong, goal)
        solved = np.linalg.solve(left + 1e-9 * np.trace(left) * np.eye(8), right)
        rest = goal - design @ solved
        squared = np.einsum("ni,nij,nj->n", rest, matches.information, rest)
        usual = max(float(np.median(squared)) / 1.386, 1e-12)  # of two normal errors
        weight = np.maximum(1 - squared / (usual * TUKEY**2), 0) ** 2
    g = solved
    change = np.array([[1 + g[0], g[1], g[2]], [g[3], 1 + g[4], g[5]], [g[6], g[7], 1]])
    better = np.linalg.inv(to_one) @ change @ to_one @ matrix
    return better / better[2, 2], -rest * half
