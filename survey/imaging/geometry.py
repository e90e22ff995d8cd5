"""Where a photograph lies on the sheet: pixels to millimetres, lengths and areas.

Pixels are those of the upright picture with edges at whole numbers: the middle of the first
pixel is (0.5, 0.5). Millimetres run from the sheet's top left corner, x right, y down. Points
are arrays of (n, 2). All uncertainties are standard ones, carried by the law of propagation of
uncertainty to first order (JCGM 100:2008, 5.2.2).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

from survey.imaging.decoded import GROUND
from survey.imaging.inspect import MOST_PIXELS
from survey.imaging.tapped import (
    CORNERS,
    Points,
    WrongPoints,
    convex,
    crosses_itself,
    far_enough,
    finite,
    within,
)

Pixels = NDArray[np.uint8]
Matrix = NDArray[np.float64]

# How far a tap misses what was meant, in pixels of the screen. Common practice, no source.
TAP_PX = 2.0
# A magnified picture helps only so far: edges of paper are no sharper than this.
FINEST_TAP_PX = 0.5
# How far from square above the sheet a camera is held with care. Common practice, no source.
TILT_DEG = 3.0
# Distance of the lens as a share of the longer side it sees: a phone's main camera, from memory
# that such a lens sees about 67° along it.
LENS_DISTANCE = 0.76


@dataclass(frozen=True)
class Placed:
    """How a photograph lies on the sheet.

    matrix          (3, 3), pixels to sheet mm; 1 in its last place
    mm_per_px       in the middle of what was tapped
    uncertainty_mm  of a place in x or in y, root mean square over the sheet
    caution         a sentence that the person should read, or ""
    warp            (8, 8) covariance of the errors of all places, see ``first_order``
    tap_px          of one tap in the picture
    """

    matrix: Matrix
    mm_per_px: float
    uncertainty_mm: float
    caution: str
    warp: Matrix
    tap_px: float


@dataclass(frozen=True)
class RectifiedSheet:
    """One side of a sheet seen squarely.

    pixels       (rows, columns, 3) uint8 sRGB; neutral grey where the photograph shows nothing
    px_per_mm    the same along both sides; the sheet's top left corner is that of the pixels
    """

    pixels: Pixels
    px_per_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Measured:
    """A value and its standard uncertainty, in the same unit."""

    value: float
    uncertainty: float


def tap_error_px(screen_px_per_px: float) -> float:
    """The error of a tap in pixels of the photograph, shown at that many screen pixels each."""
    return max(FINEST_TAP_PX, TAP_PX / screen_px_per_px)


def from_corners(
    points_px: ArrayLike,
    width_mm: float,
    height_mm: float,
    sheet_uncertainty_mm: float = 0.0,
    tap_px: float = TAP_PX,
    picture_px: tuple[int, int] | None = None,
) -> Placed:
    """From the sheet's corners in the picture: top left, top right, bottom right, bottom left.

    sheet_uncertainty_mm  of the sheet's width and of its height, each
    picture_px            (width, height) of the picture, to notice corners outside of it

    Raises WrongPoints with a sentence.
    """
    points = finite(points_px, 4, "Tap the four corners of the sheet.")
    within(points, picture_px, CORNERS)
    if not (width_mm > 0 and height_mm > 0):
        raise WrongPoints("Give the sheet's width and height in millimetres first.")
    far_enough(points, tap_px, CORNERS)
    convex(points)
    corners = np.array([(0, 0), (width_mm, 0), (width_mm, height_mm), (0, height_mm)], dtype=float)
    matrix = four_to_four(points, corners)
    # Errors in mm of the four corners, one column for each of the causes.
    causes = np.zeros((8, 10))
    for at, slope in enumerate(slopes(matrix, points)):
        causes[2 * at : 2 * at + 2, 2 * at : 2 * at + 2] = slope * tap_px
    causes[[2, 4], 8] = sheet_uncertainty_mm
    causes[[5, 7], 9] = sheet_uncertainty_mm
    errors = np.linalg.solve(first_order(corners).reshape(8, 8), causes)
    warp = errors @ errors.T
    return Placed(
        matrix,
        mm_per_px(matrix, points.mean(axis=0)),
        _typical(warp, width_mm, height_mm),
        _size_turned(points, width_mm, height_mm),
        warp,
        tap_px,
    )


def from_scale(
    points_px: ArrayLike,
    length_mm: float,
    picture_px: tuple[int, int],
    length_uncertainty_mm: float = 0.0,
    tap_px: float = TAP_PX,
    tilt_deg: float = TILT_DEG,
    origin_px: tuple[float, float] = (0.0, 0.0),
) -> Placed:
    """From the two ends of a scale of known length that lies in the sheet's plane.

    One scale knows neither the sheet's corner nor a tilt of the camera: millimetres run along
    the picture's own sides from ``origin_px``, and the tilt that a camera may have (standard
    uncertainty ``tilt_deg``) is part of the uncertainty, which so grows away from the scale.
    (Foreshortening itself is of second order, 0.1 % at 3°, and is left out.)

    Raises WrongPoints with a sentence.
    """
    ends = ("first end", "second end")
    points = finite(points_px, 2, "Tap the two ends of the scale.")
    within(points, picture_px, ends)
    if not length_mm > 0:
        raise WrongPoints("Give the length between the two ends of the scale in millimetres.")
    far_enough(points, tap_px, ends)
    per_px = length_mm / float(np.linalg.norm(points[1] - points[0]))
    x, y = origin_px
    matrix = np.array([[per_px, 0, -x * per_px], [0, per_px, -y * per_px], [0, 0, 1]])
    placed = mapped(matrix, points)
    along = (placed[1] - placed[0]) / length_mm
    width, height = (side * per_px for side in picture_px)
    # Corners of the picture: four places that fix the whole field.
    places = mapped(matrix, [(0, 0), (picture_px[0], 0), picture_px, (0, picture_px[1])])
    off = places - placed.mean(axis=0)
    # A longer or shorter scale magnifies all about its middle; only the part along it counts.
    magnified = off / length_mm
    causes = [magnified.reshape(8) * math.sqrt(2) * tap_px * per_px]
    causes.append(magnified.reshape(8) * length_uncertainty_mm)
    distance = LENS_DISTANCE * max(width, height)
    middle = np.array([width / 2, height / 2]) + matrix[:2, 2]
    for towards in np.eye(2):
        # Tilted towards there, the picture grows on that side in proportion.
        grown = [
            (q - middle) * float((q - middle) @ towards) / distance for q in (*placed, *places)
        ]
        shift = (grown[0] + grown[1]) / 2
        stretch = float((grown[1] - grown[0]) @ along) / length_mm
        left = np.array(grown[2:]) - shift - stretch * off
        causes.append(left.reshape(8) * math.radians(tilt_deg))
    errors = np.linalg.solve(first_order(places).reshape(8, 8), np.array(causes).T)
    warp = errors @ errors.T
    farthest = _errors_at(warp, places).max()
    reach = float(np.linalg.norm(off, axis=1).max())
    return Placed(
        matrix,
        per_px,
        _typical(warp, width, height, places[0]),
        "One scale tells how large things are, not whether the camera was tilted, and tilt is not "
        f"corrected. If it was tilted by {tilt_deg:g}°, lengths are right beside the scale and "
        f"wrong by about {100 * farthest / reach:.0f} % at the far corner of the picture. Tap the "
        "sheet's four corners to correct it.",
        warp,
        tap_px,
    )


def four_to_four(start: Points, end: Points) -> Matrix:
    """The homography that takes four points (4, 2) to four points, 1 in its last place.

    The exact solution of its eight equations, with both sides brought to about 1 first so that
    no digits are lost. Raises numpy's LinAlgError when three points lie on a line.
    """
    from_start, from_end = _about_one(start), _about_one(end)
    a, b = mapped(from_start, start), mapped(from_end, end)
    rows = []
    for (x, y), (u, v) in zip(a, b, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    solved = np.append(np.linalg.solve(np.array(rows), b.reshape(8)), 1).reshape(3, 3)
    matrix = np.linalg.inv(from_end) @ solved @ from_start
    return matrix / matrix[2, 2]


def mapped(matrix: Matrix, points: ArrayLike) -> Points:
    """Points (n, 2) through a homography. A point at infinity becomes infinite."""
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        over = points @ matrix[:2, :2].T + matrix[:2, 2]
        return over / (points @ matrix[2, :2] + matrix[2, 2])[:, None]


def inverse(matrix: Matrix) -> Matrix:
    """From millimetres back to pixels, or the other way about; 1 in its last place."""
    turned = np.linalg.inv(matrix)
    return np.asarray(turned / turned[2, 2], dtype=np.float64)


def slopes(matrix: Matrix, points: ArrayLike) -> NDArray[np.float64]:
    """(n, 2, 2): how the mapped point moves, by row, for each step of x and of y."""
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    below = points @ matrix[2, :2] + matrix[2, 2]
    placed = mapped(matrix, points)
    return (matrix[:2, :2] - placed[:, :, None] * matrix[2, :2]) / below[:, None, None]


def mm_per_px(matrix: Matrix, point_px: ArrayLike) -> float:
    """How many millimetres one pixel spans there: the root of the area it covers."""
    return math.sqrt(abs(float(np.linalg.det(slopes(matrix, point_px)[0]))))


def mirrored(points_mm: ArrayLike, width_mm: float) -> Points:
    """The same places told from the other side of a sheet that is ``width_mm`` wide."""
    points = np.array(points_mm, dtype=np.float64).reshape(-1, 2)
    points[:, 0] = width_mm - points[:, 0]
    return points


def length_mm(placed: Placed, points_mm: ArrayLike, closed: bool = False) -> Measured:
    """Length of the line through points (n, 2) on the sheet, each tapped in the photograph.

    Raises WrongPoints for fewer than two different points.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
    ring = np.vstack([points, points[:1]]) if closed else points
    steps = np.diff(ring, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    if not np.isfinite(ring).all() or not lengths.sum() > 0:
        raise WrongPoints("Tap at least two different places to measure a length.")
    # Two taps on one place pull in no direction.
    pull = steps / np.where(lengths > 0, lengths, 1)[:, None]
    change = np.zeros_like(ring)
    change[1:] += pull
    change[:-1] -= pull
    if closed:
        change[0] += change[-1]
        change = change[:-1]
    return Measured(float(lengths.sum()), _spread(placed, points, change))


def area_mm2(placed: Placed, points_mm: ArrayLike) -> Measured:
    """Area inside a closed outline (n, 2) on the sheet, each corner tapped in the photograph.

    Raises WrongPoints for an outline of fewer than three corners, or one that crosses itself.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
    if len(np.unique(points, axis=0)) < 3 or not np.isfinite(points).all():
        raise WrongPoints("Tap at least three different corners to measure an area.")
    if crosses_itself(points):
        raise WrongPoints(
            "The outline crosses itself. Tap its corners again in their order along the edge."
        )
    x, y = points.T
    twice = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    change = np.column_stack([np.roll(y, -1) - np.roll(y, 1), np.roll(x, 1) - np.roll(x, -1)]) / 2
    return Measured(abs(twice) / 2, _spread(placed, points, change))


def rectify(
    pixels: Pixels, matrix: Matrix, width_mm: float, height_mm: float, px_per_mm: float
) -> RectifiedSheet:
    """The sheet alone, straightened, at ``px_per_mm``.

    Bicubic; a picture finer than what is asked for is brought down first (Lanczos), so that laid
    lines do not turn into false ones. Raises WrongPoints for more than 100 megapixels.
    """
    columns, rows = round(width_mm * px_per_mm), round(height_mm * px_per_mm)
    if columns < 1 or rows < 1 or columns * rows > MOST_PIXELS:
        raise WrongPoints(
            f"At {px_per_mm:g} pixels a millimetre this sheet would have "
            f"{columns * rows / 1e6:.0f} megapixels, and at most {MOST_PIXELS / 1e6:.0f} are made. "
            "Choose fewer pixels a millimetre, or look whether the sheet's size is right."
        )
    to_px = inverse(matrix)
    middle = mapped(to_px, [(width_mm / 2, height_mm / 2)])
    finer = 1 / (mm_per_px(matrix, middle) * px_per_mm)
    if finer > 1.5:
        rows_px, columns_px = pixels.shape[:2]
        size = max(1, round(columns_px / finer)), max(1, round(rows_px / finer))
        shrink = np.diag([size[0] / columns_px, size[1] / rows_px, 1.0])
        small = Image.fromarray(pixels).resize(size, Image.Resampling.LANCZOS)
        pixels, to_px = np.asarray(small), shrink @ to_px
    # OpenCV counts from the middle of the first pixel, we from its corner.
    corner = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    to_mm = np.diag([1 / px_per_mm, 1 / px_per_mm, 1.0])
    seen = cv2.warpPerspective(
        pixels,
        np.linalg.inv(corner) @ to_px @ to_mm @ corner,
        (columns, rows),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=GROUND,
    )
    return RectifiedSheet(np.asarray(seen, dtype=np.uint8), px_per_mm, width_mm, height_mm)


def place_uncertainty_mm(placed: Placed, points_mm: ArrayLike) -> NDArray[np.float64]:
    """(n,) of each place, in x or in y, by how the photograph lies; without a tap's own error."""
    return _errors_at(placed.warp, np.asarray(points_mm, dtype=np.float64).reshape(-1, 2))


def _spread(placed: Placed, points: Points, change: Points) -> float:
    """Uncertainty of a value that changes by ``change`` (n, 2) for each mm its points move."""
    whole = np.einsum("ni,nij->j", change, first_order(points))
    pixels = mapped(inverse(placed.matrix), points)
    taps = np.einsum("ni,nij->nj", change, slopes(placed.matrix, pixels)) * placed.tap_px
    return math.sqrt(float(whole @ placed.warp @ whole) + float((taps * taps).sum()))


def first_order(points: Points) -> NDArray[np.float64]:
    """(n, 2, 8): how each place moves for eight small numbers.

    They are the eight by which a homography may differ a little from one that changes nothing:
    an affine map in the first six, and x and y of the vanishing line.
    """
    x, y = points.T
    field = np.zeros((len(points), 2, 8))
    field[:, 0, 0], field[:, 0, 1], field[:, 0, 2] = x, y, 1
    field[:, 1, 3], field[:, 1, 4], field[:, 1, 5] = x, y, 1
    field[:, 0, 6], field[:, 0, 7] = -x * x, -x * y
    field[:, 1, 6], field[:, 1, 7] = -x * y, -y * y
    return field


def _errors_at(warp: Matrix, points: Points) -> NDArray[np.float64]:
    field = first_order(points)
    variances = np.einsum("nij,jk,nik->n", field, warp, field) / 2
    return np.sqrt(np.maximum(variances, 0))


def _typical(
    warp: Matrix, width_mm: float, height_mm: float, start: Sequence[float] | Points = (0.0, 0.0)
) -> float:
    """Root mean square of the uncertainty of a place, over a rectangle from ``start``."""
    across, down = np.meshgrid(np.linspace(0, width_mm, 9), np.linspace(0, height_mm, 9))
    grid = np.column_stack([across.ravel() + start[0], down.ravel() + start[1]])
    return math.sqrt(float((_errors_at(warp, grid) ** 2).mean()))


def _about_one(points: Points) -> Matrix:
    """A shift and a scale that bring points to about 0 in mean and 1 in size."""
    middle = points.mean(axis=0)
    scale = 1 / max(float(np.abs(points - middle).mean()), 1e-12)
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1]])


def _size_turned(points: Points, width_mm: float, height_mm: float) -> str:
    """A sentence when the corners would fit the size much better with its sides exchanged."""
    sides = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    seen = math.log((sides[0] + sides[2]) / (sides[1] + sides[3]))
    told = math.log(width_mm / height_mm)
    if abs(told) < 0.1 or abs(seen + told) > 0.5 * abs(seen - told):
        return ""
    return (
        f"In the picture the sheet is {'wider than high' if seen > 0 else 'higher than wide'}, but "
        f"its size is {width_mm:g} mm wide and {height_mm:g} mm high. Look whether the two were "
        "exchanged, or the corners tapped from another one."
    )
