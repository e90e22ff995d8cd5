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
from survey.imaging.differences import (
    LEAST_COLOUR_NOISE,
    Difference,
    Mask,
    Tones,
    difference,
    equally_sharp,
    even_light,
    tones,
)
from survey.imaging.geometry import Matrix, RectifiedSheet, inverse
from survey.imaging.opened import Plane
from survey.imaging.patches import CORNER
from survey.imaging.rectified import as_grey, check, smooth, working_size
from survey.imaging.rectified import resized as at_size
from survey.imaging.settling import drift

Pixels = NDArray[np.uint8]
# (share done, 0…1; the step begun, in words)
Say = Callable[[float, str], None]

PX_PER_MM = 4.0
MOST_PIXELS = 3e6
ROUNDS = 2
# The sheet's own edge throws shadows and may be ragged.
EDGE_MM = 2.5

# A place is looked at from this many times the chance difference, in light and in colour, and
# reaches as far as this share of it.
SEEN, SEEN_COLOUR = 6.0, 8.0
REACHES = 0.6
JOINED_MM = 1.5
SMALLEST_MM2 = 0.8
# How strong a place must be as a whole, and how many are told.
LEAST_STRENGTH = 3.0
MOST_SCORE = 5.0
MOST_REGIONS = 20
# The outline runs where the change has half its height, seen with this blur (mm).
OUTLINE_MM = 0.3
# How far an outline may be off, mm: the blur, and how well the pictures lie on each other.
OUTLINE_OFF_MM = 0.3
# Longer than this many times its breadth, a place is a line.
SLENDER = 4.0
THIN_MM = 4.0
# Differences beyond this are drawn in full in the difference map, natural logarithms of light.
MAP_RANGE = 0.25


@dataclass(frozen=True)
class ChangedRegion:
    """A place that differs.

    kind         "line" or "area"
    points       its outline in sheet mm, as the earlier picture lies
    area_mm2, area_u_mm2      inside the outline, with its standard uncertainty
    length_mm, length_u_mm    of a line, else None
    percent, percent_u        how much lighter (+) or darker (-) it is in the middle, of its light
    strength     how clearly it stands out of chance; 1 is the least that is told
    words        what kind of difference it is
    """

    kind: str
    points: tuple[tuple[float, float], ...]
    area_mm2: float
    area_u_mm2: float
    length_mm: float | None
    length_u_mm: float | None
    percent: float
    percent_u: float
    strength: float
    words: str


@dataclass(frozen=True)
class Changes:
    """regions   the strongest first
    sentence    what was found, as a whole
    earlier, later, map   (rows, columns, 3), the same, and (rows, columns): 128 is no difference
    px_per_mm   of these
    apart_mm    how far places still lay apart after the sheet was laid as a whole: 95 %
    """

    regions: tuple[ChangedRegion, ...]
    sentence: str
    earlier: Pixels
    later: Pixels
    map: Pixels
    px_per_mm: float
    apart_mm: float


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
    first = at_size(earlier.pixels, shape)
    say(0.1, "Laying the later photograph on the earlier one")
    matrix = _onto(first, later, lies, px_per_mm)
    laid = _Laid(later, matrix, shape)
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
    regions = _regions(before, light, yellow, inside, px_per_mm)
    apart = 0.0 if field is None else float(np.percentile(np.hypot(*np.moveaxis(field, 2, 0)), 95))
    return Changes(
        tuple(regions),
        _sentence(regions),
        first,
        second,
        as_grey(np.where(inside, light.change, np.float32(0)), MAP_RANGE),
        px_per_mm,
        apart / px_per_mm,
    )


def _onto(first: Pixels, later: Pixels, lies: Matrix | None, px_per_mm: float) -> Matrix:
    """Pixels of the later photograph to those of the earlier picture."""
    try:
        return align(first, later, 1 / px_per_mm).matrix
    except TooLittleSeen as error:
        if lies is None:
            raise NotAligned(
                "Too little is seen on the sheet to lay the two photographs on each other. Set the "
                "sheet’s four corners in the later one as well, then read again."
            ) from error
        return np.diag([px_per_mm, px_per_mm, 1.0]) @ lies
    except NotAligned as error:
        raise NotAligned(
            "The two photographs do not seem to show the same side of the same sheet. Look whether "
            "one of them belongs to another sheet or side; else choose another earlier photograph, "
            "or photograph the sheet again, whole and sharp."
        ) from error


class _Laid:
    """A photograph brought into the earlier one's frame, in one step whatever moved it."""

    def __init__(self, picture: Pixels, matrix: Matrix, shape: tuple[int, int]) -> None:
        self.picture = picture
        # OpenCV counts from the middle of the first pixel, we from its corner.
        self.back = np.linalg.inv(CORNER) @ inverse(matrix) @ CORNER
        self.shape = shape

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


def _settled(first: Pixels, laid: _Laid, px_per_mm: float) -> Plane | None:
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


def _disc(radius_mm: float, px_per_mm: float) -> NDArray[np.uint8]:
    side = 2 * max(1, round(radius_mm * px_per_mm)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def _regions(
    before: Tones, light: Difference, yellow: Difference, inside: Mask, px_per_mm: float
) -> list[ChangedRegion]:
    score = np.maximum(np.abs(light.score) / SEEN, np.abs(yellow.score) / SEEN_COLOUR)
    spread = (score > REACHES).astype(np.uint8)
    joined = cv2.morphologyEx(spread, cv2.MORPH_CLOSE, _disc(JOINED_MM / 2, px_per_mm))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined)
    found = []
    for index in range(1, count):
        left, top, wide, high, area = (int(value) for value in stats[index])
        if area < SMALLEST_MM2 * px_per_mm**2:
            continue
        part = (slice(top, top + high), slice(left, left + wide))
        here = labels[part] == index
        told = score[part][here]
        if told.max() < 1:
            continue
        beyond = np.minimum(told[told > REACHES], MOST_SCORE)
        strength = math.sqrt(float((beyond**2).sum())) / px_per_mm
        if strength < LEAST_STRENGTH:
            continue
        found.append(_told(here, part, strength / LEAST_STRENGTH, before, light, yellow, px_per_mm))
    found.sort(key=lambda one: -one.strength)
    return found[:MOST_REGIONS]


def _told(
    here: Mask,
    part: tuple[slice, slice],
    strength: float,
    before: Tones,
    light: Difference,
    yellow: Difference,
    px_per_mm: float,
) -> ChangedRegion:
    """What is said of one place: ``here`` of the rectangle ``part``."""
    in_light = np.abs(light.score[part][here]).max() / SEEN
    in_colour = np.abs(yellow.score[part][here]).max() / SEEN_COLOUR
    told = light if in_light >= in_colour else yellow
    wider = _grown(part, math.ceil(2 * px_per_mm), light.change.shape)
    inner = _half_height(told.change, here, part, wider, px_per_mm)
    outline, area_px, border_px = _outline(inner)
    points = tuple(
        (
            round((wider[1].start + x + 0.5) / px_per_mm, 2),
            round((wider[0].start + y + 0.5) / px_per_mm, 2),
        )
        for x, y in cv2.approxPolyDP(outline, 0.15 * px_per_mm, True).reshape(-1, 2).tolist()
    )
    area, border = area_px / px_per_mm**2, border_px / px_per_mm
    # As a rectangle of this area and border would be: exact for a band that bends.
    root = math.sqrt(max(border**2 / 4 - 4 * area, 0))
    length, breadth = (border / 2 + root) / 2, (border / 2 - root) / 2
    # What is ragged has a long border too, but is broad somewhere.
    thick = 2 * float(cv2.distanceTransform(inner.astype(np.uint8), cv2.DIST_L2, 3).max())
    is_line = thick < THIN_MM * px_per_mm and length > SLENDER * max(breadth, 1 / px_per_mm)
    change = light.change[wider][inner]
    middle = float(np.median(change))
    spread = 1.2533 * float(np.std(change)) / math.sqrt(max(area, 1.0))
    return ChangedRegion(
        "line" if is_line else "area",
        points,
        round(area, 2),
        round(border * OUTLINE_OFF_MM / 2 + 0.02 * area, 2),
        round(length, 1) if is_line else None,
        round(math.hypot(2 * OUTLINE_OFF_MM, 0.03 * length), 1) if is_line else None,
        round(100 * math.expm1(middle), 1),
        round(100 * math.exp(middle) * spread, 1),
        round(strength, 2),
        _words(inner, wider, before, light, yellow, is_line),
    )


def _grown(part: tuple[slice, slice], by: int, shape: tuple[int, ...]) -> tuple[slice, slice]:
    rows, columns = part
    return (
        slice(max(0, rows.start - by), min(shape[0], rows.stop + by)),
        slice(max(0, columns.start - by), min(shape[1], columns.stop + by)),
    )


def _half_height(
    change: Plane,
    here: Mask,
    part: tuple[slice, slice],
    wider: tuple[slice, slice],
    px_per_mm: float,
) -> Mask:
    """(rows, columns) of ``wider``: where the change has at least half its height."""
    whole = np.zeros(tuple(one.stop - one.start for one in wider), dtype=np.uint8)
    at = tuple(
        slice(one.start - two.start, one.stop - two.start)
        for one, two in zip(part, wider, strict=True)
    )
    whole[at] = here
    soft = np.abs(smooth(change, OUTLINE_MM * px_per_mm)[wider])
    near = cv2.dilate(whole, _disc(0.5, px_per_mm)) > 0
    high = float(np.percentile(soft[whole > 0], 90))
    inner = (near & (soft > high / 2)).astype(np.uint8)
    inner = cv2.morphologyEx(inner, cv2.MORPH_CLOSE, _disc(0.6, px_per_mm))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(inner)
    if count > 1:
        largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
        if stats[largest, cv2.CC_STAT_AREA] > 0.5 * inner.sum():
            return np.asarray(labels == largest)
    return np.asarray(whole > 0)


def _outline(inner: Mask) -> tuple[NDArray[np.int32], float, float]:
    """The longest contour, the area inside it and its length, px: edges of pixels, not middles."""
    contours, _ = cv2.findContours(inner.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(contours, key=len)
    around = cv2.arcLength(longest, True)
    # The contour runs through the middles of its pixels: half a pixel is lost all round.
    return np.asarray(longest), cv2.contourArea(longest) + around / 2 + 1, around + 4


def _words(
    inner: Mask,
    wider: tuple[slice, slice],
    before: Tones,
    light: Difference,
    yellow: Difference,
    is_line: bool,
) -> str:
    change, colour = light.change[wider][inner], yellow.change[wider][inner]
    middle = float(np.median(change))
    both = min(float((change > 0.02).mean()), float((change < -0.02).mean()))
    tint = float(np.median(colour))
    if is_line:
        if both > 0.25:
            return "a line, light on one side and dark on the other"
        return "a line, darker than before" if middle < 0 else "a line, lighter than before"
    if both > 0.3:
        return "a place with both lighter and darker parts than before"
    was_drawn = float(np.median(before.light[wider][inner])) < -0.25
    if middle > 0.08 and was_drawn:
        return "lighter than before where something was drawn: a part of it may be lost"
    if middle < -0.7:
        return "much darker than before: paper may be lost or open here"
    if tint > max(0.02, 0.5 * abs(middle)):
        return "yellower or browner than before"
    return "darker than before" if middle < 0 else "lighter than before"


def _sentence(regions: list[ChangedRegion]) -> str:
    if not regions:
        return "Nothing stands out beyond what light, camera and the lie of the paper change."
    if len(regions) == 1:
        return "One place differs from the earlier photograph."
    return f"{len(regions)} places differ from the earlier photograph."
