"""Places where two pictures of one sheet differ: their outlines, sizes, and words for them."""

import math
from dataclasses import dataclass

import cv2
import numpy as np

from survey.imaging.differences import Difference, Tones
from survey.imaging.opened import Mask, Plane
from survey.imaging.outlines import Contour, disc, longest_contour, told_in_mm
from survey.imaging.rectified import smooth

# A place is looked at from this many times the chance difference, in light and in colour, and
# reaches as far as this share of it.
SEEN, SEEN_COLOUR = 6.0, 8.0
REACHES = 0.6
JOINED_MM = 1.5
SMALLEST_MM2 = 0.8
# What changed by less is not told, however clear: no eye would see it (natural logarithms).
LEAST_CHANGE = 0.012
# A share of the place that is lighter, and one that is darker: then it is both.
BOTH = 0.25
# Logarithm of light below that of the paper: something was drawn there.
DRAWN = -0.25
# How strong a place must be as a whole, and how many are told.
LEAST_STRENGTH = 5.0
MOST_SCORE = 5.0
MOST_REGIONS = 20
# The outline runs where the change has half its height, seen with this blur (mm).
OUTLINE_MM = 0.3
# How far an outline may be off, mm: the blur, and how well the pictures lie on each other.
OUTLINE_OFF_MM = 0.3
# It has no more points than lie within this of it.
POINTS_OFF_MM = 0.15
# Longer than this many times its breadth, a place is a line.
SLENDER = 4.0
THIN_MM = 4.0


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


def regions_of(
    before: Tones, light: Difference, yellow: Difference, inside: Mask, px_per_mm: float
) -> list[ChangedRegion]:
    score = np.maximum(np.abs(light.score) / SEEN, np.abs(yellow.score) / SEEN_COLOUR)
    spread = (score > REACHES).astype(np.uint8)
    joined = cv2.morphologyEx(spread, cv2.MORPH_CLOSE, disc(JOINED_MM / 2, px_per_mm))
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
        region = _told(here, part, strength / LEAST_STRENGTH, before, light, yellow, px_per_mm)
        if region is not None:
            found.append(region)
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
) -> ChangedRegion | None:
    """What is said of one place: ``here`` of the rectangle ``part``. None when it is too faint."""
    in_light = np.abs(light.score[part][here]).max() / SEEN
    in_colour = np.abs(yellow.score[part][here]).max() / SEEN_COLOUR
    told = light if in_light >= in_colour else yellow
    wider = _grown(part, math.ceil(2 * px_per_mm), light.change.shape)
    inner = _half_height(told.change, here, part, wider, px_per_mm)
    change = light.change[wider][inner]
    middle, tint = float(np.median(change)), float(np.median(yellow.change[wider][inner]))
    both = min(float((change > LEAST_CHANGE).mean()), float((change < -LEAST_CHANGE).mean()))
    if both < BOTH and max(abs(middle), abs(tint)) < LEAST_CHANGE:
        return None
    outline, area_px, border_px = _outline(inner)
    points = told_in_mm(outline, wider[1].start, wider[0].start, px_per_mm, POINTS_OFF_MM)
    area, border = area_px / px_per_mm**2, border_px / px_per_mm
    # As a rectangle of this area and border would be: exact for a band that bends.
    root = math.sqrt(max(border**2 / 4 - 4 * area, 0))
    length, breadth = (border / 2 + root) / 2, (border / 2 - root) / 2
    # What is ragged has a long border too, but is broad somewhere.
    thick = 2 * float(cv2.distanceTransform(inner.astype(np.uint8), cv2.DIST_L2, 3).max())
    thin = (1 + (both > BOTH)) * THIN_MM * px_per_mm  # Each of two sides may be so broad.
    is_line = thick < thin and length > SLENDER * max(breadth, 1 / px_per_mm)
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
        _words(middle, tint, both, float(np.median(before.light[wider][inner])), is_line),
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
    near = cv2.dilate(whole, disc(0.5, px_per_mm)) > 0
    high = float(np.percentile(soft[whole > 0], 90))
    inner = (near & (soft > high / 2)).astype(np.uint8)
    closed = cv2.morphologyEx(inner, cv2.MORPH_CLOSE, disc(0.6, px_per_mm))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(closed)
    if count > 1:
        largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
        if stats[largest, cv2.CC_STAT_AREA] > 0.5 * closed.sum():
            return np.asarray(labels == largest)
    return np.asarray(whole > 0)


def _outline(inner: Mask) -> tuple[Contour, float, float]:
    """The longest contour, the area inside it and its length, px: edges of pixels, not middles."""
    longest = longest_contour(inner)
    around = cv2.arcLength(longest, True)
    # The contour runs through the middles of its pixels: half a pixel is lost all round.
    return longest, cv2.contourArea(longest) + around / 2 + 1, around + 4


def _words(middle: float, tint: float, both: float, was: float, is_line: bool) -> str:
    """What kind of difference it is.

    middle, tint  how much lighter and yellower, in the median; both: the lesser of the shares that
                  are lighter and darker; was: how light it was, against paper
    """
    if both > BOTH:
        if is_line:
            return "a line, light on one side and dark on the other"
        return "a place with both lighter and darker parts than before"
    if is_line:
        return "a line, darker than before" if middle < 0 else "a line, lighter than before"
    if middle > 0.08 and was < DRAWN:
        return "lighter than before where something was drawn: a part of it may be lost"
    if middle < -0.7:
        return "much darker than before: paper may be lost or open here"
    if abs(tint) > max(0.02, 0.5 * abs(middle)):
        return "yellower or browner than before" if tint > 0 else "less yellow than before"
    return "darker than before" if middle < 0 else "lighter than before"
