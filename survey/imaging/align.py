"""Two photographs of one side of a sheet under different lights, laid on each other.

A start is found from features (SIFT: D. G. Lowe, Distinctive image features from scale-invariant
keypoints, International Journal of Computer Vision 60, 2004), or else from the sheet's outline.
It is made better by many small patches, coarse ones first, and believed only when patches inside
the sheet agree: edges alone fit any two sheets of one size.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from survey.imaging.geometry import Matrix, Points, four_to_four, inverse, mapped
from survey.imaging.opened import Mask
from survey.imaging.patches import Matches, Plane, against_neighbours, fitted, matched

Pixels = NDArray[np.uint8]

# Both pictures are brought down to this many pixels along their longer side.
LONGEST_PX = 1500
FEATURES = 3000
# Features are looked for in a picture smaller by this.
FINE = 2 / 3
# A feature's second best match must be this much farther off (Lowe 2004, 7.1, has 0.8).
RATIO = 0.8
FEWEST_INLIERS = 12
# Share of the size, side of a patch and reach in pixels, one after another.
PATCH_PX = 48
LEVELS = ((0.5, 40, 8), (1.0, PATCH_PX, 6))
ROUGH_LEVELS = ((0.25, 32, 20), (0.5, 40, 8), (1.0, PATCH_PX, 6))
# Agreement of patches: as near as this, px of the reduced picture, within the reach looked over.
NEAR_PX = 1.5
REACH_PX = 8
FEWEST_PATCHES = 12
# Of two sheets with nothing in common some patches agree by chance: the share of the reach that
# counts as near, 2.4 %, and more where both show the same kind of lines.
LEAST_AGREEING = 0.25
# A picture with as many patches that show something would have been laid on its like.
MANY_PATCHES = 60
DIFFERENT = (
    "These two photographs do not seem to show the same side of the same sheet. If they do, tap "
    "the sheet's four corners in this one, or two points in both."
)


class NotAligned(ValueError):
    """The two photographs could not be laid on each other. The message says what to do."""


class TooLittleSeen(NotAligned):
    """Too little is seen in one of them, as on a blank sheet: they may well be of one sheet."""


@dataclass(frozen=True)
class Alignment:
    """matrix          (3, 3) pixels of the moving picture to pixels of the fixed one, both at full
                    size with edges at whole numbers
    residual_mm     how far patches still lie apart that had no part in the fit: median
    residual_95_mm  the same: 95 of 100 lie nearer
    moved_mm        how far the camera had moved: root mean square over the frame
    inliers         number of patches within the sheet that agree
    """

    matrix: Matrix
    residual_mm: float
    residual_95_mm: float
    moved_mm: float
    inliers: int


def align(fixed: Pixels, moving: Pixels, mm_per_px: float) -> Alignment:
    """Lay ``moving`` on ``fixed``, both (rows, columns, 3) sRGB; ``mm_per_px`` is of ``fixed``.

    Raises NotAligned with a sentence when they show different sheets, or too little to hold on to.
    """
    a, b = Reduced(fixed), Reduced(moving)
    inside = sheet_mask(a.plane)
    best: Try | None = None
    for start, is_rough in starts(a, b):
        matrix = refined(a, b, start, is_rough)
        if matrix is None or not is_plausible(matrix, b.plane.shape, a.plane.shape):
            continue
        tried = Try.of(a, b, matrix, inside)
        if best is None or tried.share > best.share:
            best = tried
        if len(tried.near) >= FEWEST_PATCHES and tried.share >= 2 * LEAST_AGREEING:
            break
    if best is None or len(best.near) < FEWEST_PATCHES:
        if min(speaking(a.plane), speaking(b.plane)) >= MANY_PATCHES:
            raise NotAligned(DIFFERENT)
        raise TooLittleSeen(
            "These two photographs show too little alike to be laid on each other by what is seen "
            "in them. Tap the sheet's four corners in this one, or two points in both."
        )
    if best.share < LEAST_AGREEING:
        raise NotAligned(DIFFERENT)
    rest = left_over(best, a)
    matrix, _ = fitted(best.matches, best.matrix, a.size)
    scale = mm_per_px / a.scale
    full = inverse(a.to_small) @ matrix @ b.to_small
    return Alignment(
        full / full[2, 2],
        float(np.median(rest)) * scale,
        float(np.percentile(rest, 95)) * scale,
        moved_px(full, moving, fixed) * mm_per_px,
        int(best.near.sum()),
    )


@dataclass(frozen=True)
class Try:
    """What sure patches say of a matrix from b to a: all of them fit, those in the sheet judge.

    inner  which lie inside the sheet
    near   which of those agree with the matrix
    """

    matrix: Matrix
    matches: Matches
    inner: Mask
    near: Mask

    @classmethod
    def of(cls, a: "Reduced", b: "Reduced", matrix: Matrix, inside: Mask) -> "Try":
        seen = looked_over(a.plane, b.plane, matrix)
        sure = seen.chosen(seen.sure)
        inner = lying(sure, inside)
        return cls(matrix, sure, inner, np.linalg.norm(sure.shift[inner], axis=1) < NEAR_PX)

    @property
    def share(self) -> float:
        return float(self.near.mean()) if len(self.near) else 0.0


def looked_over(fixed: Plane, moving: Plane, matrix: Matrix) -> Matches:
    return matched(fixed, moving, matrix, PATCH_PX, REACH_PX, PATCH_PX * 2 // 3)


def lying(matches: Matches, inside: Mask) -> Mask:
    """(n,) which patches have their middle where ``inside`` is true."""
    x, y = matches.points.astype(int).T
    return inside[y, x]


class Reduced:
    """A picture brought down to grey, 0…1 and about LONGEST_PX, stretched to its own range."""

    def __init__(self, pixels: Pixels) -> None:
        rows, columns = pixels.shape[:2]
        self.scale = min(1.0, LONGEST_PX / max(rows, columns))
        size = max(1, round(columns * self.scale)), max(1, round(rows * self.scale))
        self.to_small = np.diag([size[0] / columns, size[1] / rows, 1.0])
        small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
        # Ultraviolet photographs are all but blue, so colours count alike.
        grey = np.asarray(small, dtype=np.float32).mean(axis=2)
        low, high = np.percentile(grey, (0.5, 99.5))
        self.plane: Plane = ((grey - low) / np.float32(max(high - low, 1))).astype(np.float32)

    @property
    def size(self) -> tuple[int, int]:
        return self.plane.shape[1], self.plane.shape[0]


def starts(a: Reduced, b: Reduced) -> Iterator[tuple[Matrix, bool]]:
    """Guesses of the matrix from b to a, best first, and whether it may be far off."""
    fixed, moving = features(a.plane), features(b.plane)
    for turned in (moving, None):
        found = by_features(fixed, features(-b.plane) if turned is None else turned)
        if found is not None:
            yield found, False
    outlines = outline(a.plane), outline(b.plane)
    if outlines[0] is not None and outlines[1] is not None:
        yield four_to_four(outlines[1], outlines[0]), True
    sizes = a.size[0] / b.size[0], a.size[1] / b.size[1]
    if abs(math.log(sizes[0] / sizes[1])) < 0.05:
        yield np.diag([*sizes, 1.0]), True
    if outlines[0] is not None and outlines[1] is not None:
        for turn in (2, 1, 3):
            yield four_to_four(np.roll(outlines[1], turn, axis=0), outlines[0]), True


def features(plane: Plane) -> tuple[Points, NDArray[np.float32]]:
    tones = against_neighbours(resized(plane, FINE))
    grey = np.clip(128 + 42 * tones, 0, 255).astype(np.uint8)
    sift = cv2.SIFT.create(FEATURES, contrastThreshold=0.02)
    keys, described = sift.detectAndCompute(grey, None)
    places = (np.array([key.pt for key in keys], dtype=np.float64).reshape(-1, 2) + 0.5) / FINE
    if described is None:
        described = np.zeros((0, 128), np.float32)
    # The root of the normed histogram compares better (Arandjelović and Zisserman, Three things
    # everyone should know to improve object retrieval, CVPR 2012).
    described = np.sqrt(described / np.maximum(described.sum(axis=1, keepdims=True), 1e-6))
    return places, described


def by_features(
    fixed: tuple[Points, NDArray[np.float32]], moving: tuple[Points, NDArray[np.float32]]
) -> Matrix | None:
    if min(len(fixed[0]), len(moving[0])) < FEWEST_INLIERS:
        return None
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(moving[1], fixed[1], k=2)
    kept = [one for one, two in pairs if one.distance < RATIO * two.distance]
    if len(kept) < FEWEST_INLIERS:
        return None
    start = moving[0][[one.queryIdx for one in kept]]
    end = fixed[0][[one.trainIdx for one in kept]]
    matrix, agreed = cv2.findHomography(
        start, end, cv2.USAC_MAGSAC, 3.0, maxIters=5000, confidence=0.9999
    )
    if matrix is None or int(agreed.sum()) < FEWEST_INLIERS:
        return None
    return np.asarray(matrix / matrix[2, 2], dtype=np.float64)


def refined(a: Reduced, b: Reduced, start: Matrix, is_rough: bool) -> Matrix | None:
    """The start made better by patches: from a quarter of the size up to the whole of it."""
    matrix = start
    for share, patch, reach in ROUGH_LEVELS if is_rough else LEVELS:
        planes = [resized(plane, share) for plane in (a.plane, b.plane)]
        # The small picture's sides are whole pixels.
        to_a, to_b = (
            np.diag([small.shape[1] / whole.shape[1], small.shape[0] / whole.shape[0], 1.0])
            for small, whole in zip(planes, (a.plane, b.plane), strict=True)
        )
        small = to_a @ matrix @ inverse(to_b)
        matches = matched(planes[0], planes[1], small, patch, reach, patch * 2 // 3)
        if len(matches.points) < FEWEST_PATCHES:
            return None
        agreeing = first_agreed(matches)
        if agreeing is None:
            return None
        better, _ = fitted(matches.chosen(agreeing), small, planes[0].shape[1::-1])
        matrix = inverse(to_a) @ better @ to_b
        matrix = matrix / matrix[2, 2]
    return matrix


def resized(plane: Plane, share: float) -> Plane:
    if share == 1:
        return plane
    small = cv2.resize(plane, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.float32)


def first_agreed(matches: Matches) -> Mask | None:
    """Which patches lie within a few pixels of what the surest among them agree on."""
    sure = matches.chosen(matches.sure)
    if len(sure.points) < 8:
        return None
    matrix, _ = cv2.findHomography(
        sure.points + sure.shift, sure.points, cv2.USAC_MAGSAC, 1.5, maxIters=3000, confidence=0.999
    )
    if matrix is None:
        return None
    rest = mapped(np.asarray(matrix), matches.points + matches.shift) - matches.points
    agreed = np.linalg.norm(rest, axis=1) < 4
    return agreed if agreed.sum() >= 8 else None


def left_over(tried: Try, a: Reduced) -> NDArray[np.float64]:
    """How far each patch inside the sheet lies off, px, by a fit in which it had no part.

    The patches are parted like a chessboard; each half is judged by the other.
    """
    white = (tried.matches.points // (2 * PATCH_PX)).astype(int).sum(axis=1) % 2 == 0
    rest = []
    for half in (white, ~white):
        if half.sum() < FEWEST_PATCHES // 2:
            continue
        better, _ = fitted(tried.matches.chosen(half), tried.matrix, a.size)
        others = tried.matches.chosen(~half & tried.inner)
        change = better @ inverse(tried.matrix)
        rest.append(mapped(change, others.points + others.shift) - others.points)
    if not any(len(one) for one in rest):  # All of them lie in squares of one colour.
        rest = [tried.matches.shift[tried.inner]]
    return np.linalg.norm(np.vstack(rest), axis=1)


def outline(plane: Plane) -> Points | None:
    """The sheet's corners, top left first and clockwise, where it stands out from the bench."""
    mask = bright(plane)
    if mask is None:
        return None
    lines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(max(lines, key=cv2.contourArea))
    length = cv2.arcLength(hull, True)
    for loose in (0.01, 0.02, 0.03, 0.05, 0.08):
        corners = cv2.approxPolyDP(hull, loose * length, True).reshape(-1, 2)
        if len(corners) == 4:
            break
    else:
        return None
    corners = corners.astype(np.float64) + 0.5
    about = corners - corners.mean(axis=0)
    corners = corners[np.argsort(np.arctan2(about[:, 1], about[:, 0]))]
    return np.roll(corners, -int(np.argmin(corners.sum(axis=1))), axis=0)


def bright(plane: Plane) -> NDArray[np.uint8] | None:
    """The largest bright thing, holes filled (255), if it could be a sheet on a darker bench."""
    soft = cv2.GaussianBlur(plane, (0, 0), 4)
    grey = np.clip(255 * soft, 0, 255).astype(np.uint8)
    _, mask = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    lines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    if not lines:
        return None
    largest = max(lines, key=cv2.contourArea)
    area = cv2.contourArea(largest)
    if area < 0.15 * plane.size or area < 0.85 * cv2.contourArea(cv2.convexHull(largest)):
        return None
    return np.asarray(cv2.drawContours(np.zeros_like(mask), [largest], -1, 255, cv2.FILLED))


def sheet_mask(plane: Plane) -> Mask:
    """Where the inside of the sheet is, well away from its edges; all, when it fills the frame."""
    mask = bright(plane)
    if mask is None:
        return np.ones(plane.shape, dtype=bool)
    inset = 2 * 32 + 1
    mask[[0, -1], :] = 0
    mask[:, [0, -1]] = 0
    return cv2.erode(mask, np.ones((inset, inset), np.uint8)) > 0


def speaking(plane: Plane) -> int:
    """Number of patches inside the sheet that show more than flat paper and noise.

    Every second pixel is likened to those between: what both show is there, noise is not.
    """
    rows, columns = (side // 2 * 2 for side in plane.shape)
    even, odd = plane[:rows:2, :columns:2], plane[1:rows:2, 1:columns:2]
    same = matched(even, odd, np.eye(3), PATCH_PX // 2, REACH_PX // 2, PATCH_PX // 3)
    inside = sheet_mask(plane)[:rows:2, :columns:2]
    return int((lying(same, inside) & same.sure).sum())


def is_plausible(matrix: Matrix, moving: tuple[int, ...], fixed: tuple[int, ...]) -> bool:
    """No lens sees a sheet turned inside out, or ten times as large in one corner."""
    rows, columns = moving[:2]
    corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=float)
    below = corners @ matrix[2, :2] + matrix[2, 2]
    if not (below > 0.3).all() or below.max() > 3 * below.min():
        return False
    area = cv2.contourArea(mapped(matrix, corners).astype(np.float32), oriented=True)
    return 0.05 < area / (fixed[0] * fixed[1]) < 20


def moved_px(matrix: Matrix, moving: Pixels, fixed: Pixels) -> float:
    """Root mean square over the frame, in pixels of the fixed picture."""
    (rows, columns), (fixed_rows, fixed_columns) = moving.shape[:2], fixed.shape[:2]
    across, down = np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1, 9))
    grid = np.column_stack([across.ravel(), down.ravel()])
    there = mapped(matrix, grid * (columns, rows))
    return math.sqrt(float(((there - grid * (fixed_columns, fixed_rows)) ** 2).sum(axis=1).mean()))


def nudged(matrix: Matrix, from_points: ArrayLike, to_points: ArrayLike) -> Matrix:
    """``matrix`` corrected by hand: two points of the fixed picture should lie on two others.

    ``from_points`` (2, 2) are where two places of the moving picture lie now, ``to_points`` where
    they belong, both in pixels of the fixed picture. Turned, scaled and shifted only. Raises
    NotAligned when the two are too near each other.
    """
    start = np.asarray(from_points, dtype=np.float64)
    end = np.asarray(to_points, dtype=np.float64)
    if start.shape != (2, 2) or end.shape != (2, 2) or not np.isfinite([start, end]).all():
        raise NotAligned("Set two points, and for each the place where it belongs.")
    if min(np.linalg.norm(start[1] - start[0]), np.linalg.norm(end[1] - end[0])) < 20:
        raise NotAligned("The two points are too near each other. Choose two far apart.")
    one, two = (complex(*(points[1] - points[0])) for points in (start, end))
    turn = two / one
    linear = np.array([[turn.real, -turn.imag], [turn.imag, turn.real]])
    change = np.eye(3)
    change[:2, :2] = linear
    change[:2, 2] = end[0] - linear @ start[0]
    better = change @ matrix
    return better / better[2, 2]
