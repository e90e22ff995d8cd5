"""What changed on a sheet between two photographs under one light, months or years apart.

The later picture is laid on the earlier one, as a whole and then place by place, for paper never
lies twice alike. What is left between them is weighed against what differs by chance
(``differences``). Suggestions only: a person decides what they are, and whether they are anything.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.align import NotAligned, TooLittleSeen, align
from survey.imaging.changed_regions import ChangedRegion, regions_of
from survey.imaging.differences import (
    LEAST_COLOUR_NOISE,
    difference,
    equally_sharp,
    even_light,
    tones,
)
from survey.imaging.geometry import Matrix, RectifiedSheet, inverse, mm_per_px
from survey.imaging.opened import Mask, Plane
from survey.imaging.patches import CORNER
from survey.imaging.rectified import as_grey, check, resized, working_size
from survey.imaging.settling import drift

Pixels = NDArray[np.uint8]
# (share done, 0…1; the step begun, in words)
Say = Callable[[float, str], None]

PX_PER_MM = 4.0
MOST_PIXELS = 3e6
ROUNDS = 2
# A photograph finer than what is compared by more than this is brought down first.
FINER = 1.3
# The sheet's own edge throws shadows and may be ragged.
EDGE_MM = 2.5

# Differences beyond this are drawn in full in the difference map, natural logarithms of light.
MAP_RANGE = 0.25


@dataclass(frozen=True)
class Laid:
    """matrix       pixels of the later photograph, as given, to mm of the earlier sheet
    residual_mm  how far patches still lie apart that had no part in the fit: median
    """

    matrix: Matrix
    residual_mm: float


@dataclass(frozen=True)
class Changes:
    """regions   the strongest first
    sentence    what was found, as a whole
    earlier, later, map   (rows, columns, 3), the same, and (rows, columns): 128 is no difference
    px_per_mm   of these
    apart_mm    how far places still lay apart after the sheet was laid as a whole: 95 %
    laid        how the later photograph lies as a whole, by what is seen in it; None where too
                little was seen, and it was laid as a person had placed it
    """

    regions: tuple[ChangedRegion, ...]
    sentence: str
    earlier: Pixels
    later: Pixels
    map: Pixels
    px_per_mm: float
    apart_mm: float
    laid: Laid | None


def find_changes(
    earlier: RectifiedSheet,
    later: Pixels,
    lies: Matrix | None = None,
    say: Say = lambda share, step: None,
) -> Changes:
    """Where ``later`` shows the sheet otherwise than ``earlier``.

    later  a photograph of the same side under the same light, (rows, columns, 3) sRGB; it need
           not be straightened, for it is laid by what is seen in it
    lies   its pixels to sheet mm, (3, 3), if a person placed it: used where too little is seen

    Raises NotAligned or NotReadable with a sentence.
    """
    check([("earlier photograph", earlier)])
    shape, px_per_mm = working_size([earlier], PX_PER_MM, MOST_PIXELS)
    first = resized(earlier.pixels, shape)
    say(0.1, "Laying the later photograph on the earlier one")
    to_px = np.diag([shape[1] / earlier.width_mm, shape[0] / earlier.height_mm, 1.0])
    matrix, residual_mm = _onto(first, later, None if lies is None else to_px @ lies, px_per_mm)
    laid = _Brought(later, matrix, shape)
    check(
        [
            (
                "later photograph",
                RectifiedSheet(laid.pixels(None), px_per_mm, earlier.width_mm, earlier.height_mm),
            )
        ]
    )
    say(0.4, "Following the paper where it lies otherwise")
    field = _settled(first, laid, px_per_mm)
    second, there = laid.pixels(field), laid.there(field)
    say(0.6, "Looking for differences")
    inside = _within(there, px_per_mm)
    if inside.mean() < 0.2:
        raise NotAligned(
            "The later photograph shows too little of this side of the sheet. Take one that shows "
            "the whole sheet."
        )
    lights = equally_sharp(even_light(first, inside), even_light(second, inside), inside)
    before, after = (tones(light) for light in lights)
    light = difference(before.light, after.light, inside, px_per_mm)
    yellow = difference(before.yellow, after.yellow, inside, px_per_mm, LEAST_COLOUR_NOISE)
    say(0.85, "Outlining what differs")
    regions = regions_of(before, light, yellow, inside, px_per_mm)
    apart = 0.0 if field is None else float(np.percentile(np.hypot(*np.moveaxis(field, 2, 0)), 95))
    return Changes(
        tuple(regions),
        _sentence(regions),
        first,
        second,
        as_grey(np.where(inside, light.change, np.float32(0)), MAP_RANGE),
        px_per_mm,
        apart / px_per_mm,
        None if residual_mm is None else Laid(inverse(to_px) @ matrix, residual_mm),
    )


def _onto(
    first: Pixels, later: Pixels, placed: Matrix | None, px_per_mm: float
) -> tuple[Matrix, float | None]:
    """Pixels of the later photograph to those of the earlier picture, and what is left between
    the two, mm; None where only ``placed``, a person's placing, tells."""
    try:
        found = align(first, later, 1 / px_per_mm)
    except TooLittleSeen as error:
        if placed is None:
            raise NotAligned(
                "Too little is seen on the sheet to lay the two photographs on each other. Set the "
                "sheet’s four corners in the later one as well, then read again."
            ) from error
        return placed, None
    except NotAligned as error:
        raise NotAligned(
            "The two photographs do not seem to show the same side of the same sheet. Look whether "
            "one of them belongs to another sheet or side; else choose another earlier photograph, "
            "or photograph the sheet again, whole and sharp."
        ) from error
    return found.matrix, found.residual_mm


class _Brought:
    """A photograph brought into the earlier one's frame, in one step whatever moved it."""

    def __init__(self, picture: Pixels, matrix: Matrix, shape: tuple[int, int]) -> None:
        self.shape = shape
        back = inverse(matrix)
        middle = (shape[1] / 2, shape[0] / 2)
        # How many of its pixels come on one here: a finer picture is averaged, not sampled.
        finer = mm_per_px(back, middle)
        rows, columns = picture.shape[:2]
        if finer > FINER:
            size = max(1, round(columns / finer)), max(1, round(rows / finer))
            picture = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA))
            back = np.diag([size[0] / columns, size[1] / rows, 1.0]) @ back
        self.picture = picture
        # OpenCV counts from the middle of the first pixel, we from its corner.
        self.back = np.linalg.inv(CORNER) @ back @ CORNER

    def pixels(self, field: Plane | None) -> Pixels:
        x, y = self._places(field)
        seen = cv2.remap(self.picture, x, y, cv2.INTER_CUBIC, None, cv2.BORDER_REPLICATE)
        return np.asarray(seen, dtype=np.uint8)

    def there(self, field: Plane | None) -> Mask:
        """Where the photograph shows anything."""
        x, y = self._places(field)
        rows, columns = self.picture.shape[:2]
        return np.asarray((x > 0) & (y > 0) & (x < columns - 1) & (y < rows - 1))

    def _places(self, field: Plane | None) -> tuple[Plane, Plane]:
        rows, columns = self.shape
        x, y = np.meshgrid(np.arange(columns, dtype=np.float64), np.arange(rows, dtype=np.float64))
        if field is not None:
            x, y = x + field[:, :, 0], y + field[:, :, 1]
        across, down, below = (row[0] * x + row[1] * y + row[2] for row in self.back)
        return (across / below).astype(np.float32), (down / below).astype(np.float32)


def _settled(first: Pixels, laid: _Brought, px_per_mm: float) -> Plane | None:
    """Where places of the sheet lie, px beside where they should; None when nothing tells."""
    whole = np.ones(first.shape[:2], dtype=bool)
    fixed = tones(even_light(first, whole)).light
    field: Plane | None = None
    for _ in range(ROUNDS):
        moving = tones(even_light(laid.pixels(field), whole)).light
        more = drift(fixed, moving, px_per_mm)
        if more is None:
            break
        field = more if field is None else field + more
    return field


def _within(there: Mask, px_per_mm: float) -> Mask:
    inside = there.copy()
    edge = math.ceil(EDGE_MM * px_per_mm)
    inside[:edge] = inside[-edge:] = False
    inside[:, :edge] = inside[:, -edge:] = False
    return inside


def _sentence(regions: list[ChangedRegion]) -> str:
    if not regions:
        return "Nothing stands out beyond what light, camera and the lie of the paper change."
    if len(regions) == 1:
        return "One place differs from the earlier photograph."
    return f"{len(regions)} places differ from the earlier photograph."
