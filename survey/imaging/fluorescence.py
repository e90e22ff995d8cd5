"""What a sheet gives back under the ultraviolet lamp: its overall glow, and where it differs.

Places are held against the bare paper about them. Ink takes the glow from paper; so the normal
light is used to leave out what is drawn and its close neighbourhood, and gaps between lines are
weighed only by the paper seen in them. Suggestions only: a person decides what they are.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet
from survey.imaging.opened import Mask, Plane
from survey.imaging.outlines import disc, longest_contour, told_in_mm
from survey.imaging.rectified import (
    broad_trend,
    check,
    linear_planes,
    smooth,
    spread_of,
    working_size,
)
from survey.imaging.shifts import detail, settled, shift_between

PX_PER_MM = 6.0
MOST_PIXELS = 8e6

# Blue's share of the mean linear light of bare paper. Chosen on rendered sheets and from memory
# of such photographs, no source: a camera's white balance shifts them.
BRIGHTENED, BLUISH = 0.49, 0.37
# Mean linear light above which paper was seen to glow brightly, and below which hardly.
BRIGHT, FAINT = 0.30, 0.05

# Lines up to twice this breadth are drawn, not stained.
THIN_MM = 0.7
# Darker than the paper beside it by this share: drawn. With this much paper about it left out.
DRAWN = 0.07
BESIDE_MM = 0.3
# A wash has an edge: its darkness comes within less than a millimetre over this; a stain's fades.
EDGE_PER_MM = 1.7
SHADED = 0.12

FINE_MM = 0.35
LOCAL_MM = 10.0
CAUCHY = 2.385
LEAST_TRUST = 0.15
SIGNIFICANT = 4.0
LEAST_DIFFERENCE = 0.09
SMALLEST_MM2 = 2.5
LEAST_RADIUS_MM = 0.55
LEAST_PAPER = 0.5
RING_MM = 1.2
MOST_DRAWN_ABOUT = 0.35
EDGE_MM = 1.0
# Gaps and notches narrower than twice this are closed.
ROUNDED_MM = 0.5
# The outline of a place has no more points than lie within this of it.
OUTLINE_OFF_MM = 0.2
MOST_REGIONS = 60

RESPONSES = {
    "bright blue-white": (
        "The sheet glows a bright blue-white: it may hold an optical brightener, which would "
        "date the paper, or its last treatment, to about 1950 or later (from memory)."
    ),
    "blue-white": (
        "The sheet glows blue-white more than plain paper usually does: an optical brightener "
        "is possible."
    ),
    "pale bluish": "The sheet glows a pale bluish white, as paper without brightener often does.",
    "dull, yellowish": (
        "The sheet glows dull and yellowish: size, ageing or a coating may lie behind it."
    ),
    "faint": (
        "The sheet hardly glows in this photograph. If it did to the eye, photograph it again "
        "with a longer exposure."
    ),
}
WHITE_BALANCE = (
    "The colour depends on the camera's white balance and the lamp's filter: compare sheets only "
    "when both were the same."
)


@dataclass(frozen=True)
class GlowRegion:
    """A place that glows otherwise than the paper about it.

    points       outline in sheet mm
    area_mm2     inside it, and area_u_mm2 its standard uncertainty
    ratio        its light as a multiple of the paper's about it
    uncertainty  of the ratio, standard
    seen_by_day  True when normal light shows it darker too; None when there is none to compare
    words        what to think of
    """

    points: tuple[tuple[float, float], ...]
    area_mm2: float
    area_u_mm2: float
    ratio: float
    uncertainty: float
    seen_by_day: bool | None
    words: str


@dataclass(frozen=True)
class Ultraviolet:
    """response     a key of RESPONSES
    sentence        the same in words, with the figures
    shares          red, green and blue of the paper's mean linear light, summing to 1
    uncertainty     of each share, standard: how it differs over the sheet
    regions         the plainest first
    sentences       what to know before believing it
    """

    response: str
    sentence: str
    shares: tuple[float, float, float]
    uncertainty: tuple[float, float, float]
    regions: tuple[GlowRegion, ...]
    sentences: tuple[str, ...]


def read_ultraviolet(
    ultraviolet: RectifiedSheet,
    normal: RectifiedSheet | None = None,
    smallest_mm2: float = SMALLEST_MM2,
) -> Ultraviolet:
    """Read an ultraviolet photograph of one side; ``normal`` is that side under normal light.

    Without the normal light, ink cannot be told from stain, and then only places that glow more
    than the paper are proposed. Raises NotReadable with a sentence.
    """
    named = [("photograph under ultraviolet", ultraviolet)]
    if normal is not None:
        named.append(("photograph under normal light", normal))
    check(named)
    shape, px_per_mm = working_size([sheet for _, sheet in named], PX_PER_MM, MOST_PIXELS)
    light = linear_planes(ultraviolet, shape)
    glow = np.log(np.maximum(light.mean(axis=2), np.float32(0.002)))
    sentences = [WHITE_BALANCE]
    if normal is None:
        drawn, day = _dark_lines(glow, px_per_mm), None
        sentences.append(
            "Without a photograph under normal light ink cannot be told from stain: only places "
            "that glow more than the paper are proposed."
        )
    else:
        seen = linear_planes(normal, shape)
        fixed = detail(light.mean(axis=2), px_per_mm)
        shift = shift_between(fixed, detail(seen.mean(axis=2), px_per_mm), px_per_mm)
        day = np.log(np.maximum(settled(seen, shift.matrix).mean(axis=2), np.float32(0.004)))
        drawn = _drawn(day, px_per_mm)
        sentences.append(
            "Within the drawing, places that glow less than paper are not proposed: ink and wash "
            "do so."
        )
    paper = ~drawn
    held = _against_paper(glow, paper, px_per_mm)
    # Ink takes light and never gives it: what glows more than paper was no ink, though dark by day.
    paper |= smooth(glow, 0.15 * px_per_mm) - held.run > held.least
    held = _against_paper(glow, paper, px_per_mm)
    shares, uncertainty, level = _overall(light, paper & (np.abs(held.difference) < 3 * held.noise))
    response = _response(shares[2], level)
    return Ultraviolet(
        response,
        f"{RESPONSES[response]} Red {shares[0]:.2f}, green {shares[1]:.2f}, blue {shares[2]:.2f} "
        f"of its light, {_give_or_take(uncertainty[2])}.",
        shares,
        uncertainty,
        tuple(_regions(held, paper, day, px_per_mm, smallest_mm2)),
        tuple(sentences),
    )


def _without_lines(logarithm: Plane, px_per_mm: float) -> Plane:
    """Dark lines and grain closed over by the paper on both sides of them."""
    fine = smooth(logarithm, 0.06 * px_per_mm)
    closed = cv2.morphologyEx(fine, cv2.MORPH_CLOSE, disc(THIN_MM, px_per_mm))
    return np.asarray(closed, dtype=np.float32)


def _dark_lines(logarithm: Plane, px_per_mm: float) -> Mask:
    """Thin dark lines and what lies close beside them."""
    closed = _without_lines(logarithm, px_per_mm)
    # Closing lifts mere grain as well: lines are those that are lifted more than is usual.
    lifted = smooth(closed - logarithm, 0.08 * px_per_mm)
    usual = float(np.median(lifted))
    dark = lifted > usual + max(DRAWN, 3 * spread_of(lifted[lifted < 2 * usual + 0.02]))
    grown = cv2.dilate(dark.astype(np.uint8), disc(BESIDE_MM, px_per_mm))
    return grown > 0


def _drawn(day: Plane, px_per_mm: float) -> Mask:
    """What normal light shows to be drawn: thin lines, and broad darks that have an edge."""
    lines = _dark_lines(day, px_per_mm)
    closed = smooth(_without_lines(day, px_per_mm), 0.1 * px_per_mm)
    dark = broad_trend(closed) - closed
    shaded = (dark > SHADED).astype(np.uint8)
    count, labels = cv2.connectedComponents(shaded)
    if count > 1:
        steep = np.hypot(*np.gradient(closed)) * px_per_mm
        rim = (shaded > 0) & (cv2.erode(shaded, disc(0.35, px_per_mm)) == 0)
        order = np.argsort(labels[rim], kind="stable")
        members, starts = np.unique(labels[rim][order], return_index=True)
        pieces = np.split(steep[rim][order], starts[1:])
        depth = cv2.dilate(dark, disc(0.8, px_per_mm))[rim][order]
        depths = np.split(depth, starts[1:])
        washes = [
            int(member)
            for member, slope, deep in zip(members, pieces, depths, strict=True)
            if np.median(slope / np.maximum(deep, SHADED)) > EDGE_PER_MM
        ]
        wash = np.isin(labels, washes).astype(np.uint8)
        lines |= cv2.dilate(wash, disc(2 * BESIDE_MM, px_per_mm)) > 0
    return lines


@dataclass(frozen=True)
class _Held:
    """Paper held against paper, in natural logarithms of light.

    difference  of the paper at each place from the run; trust: how much paper tells so, 0…1
    run         what bare paper would give at each place
    noise       robust standard deviation of the difference over the sheet
    """

    difference: Plane
    run: Plane
    trust: Plane
    noise: float

    @property
    def least(self) -> float:
        """The least difference that is proposed."""
        return max(SIGNIFICANT * self.noise, LEAST_DIFFERENCE)


def _against_paper(glow: Plane, paper: Mask, px_per_mm: float) -> _Held:
    weight = paper.astype(np.float32)
    fine = FINE_MM * px_per_mm
    trust = smooth(weight, fine)
    near = smooth(glow * weight, fine) / np.maximum(trust, np.float32(1e-3))
    broad = smooth(weight, 5 * px_per_mm)
    wide = smooth(glow * weight, 5 * px_per_mm) / np.maximum(broad, np.float32(1e-3))
    filled = np.where(trust > LEAST_TRUST, near, wide)
    run: NDArray = broad_trend(filled, order=3)
    for _ in range(2):
        # What is left of the slow run, from places near by that look like paper (Cauchy weights).
        left = filled - run
        spread = CAUCHY * max(spread_of(left[trust > LEAST_TRUST][::5]), 0.004)
        like = trust / (1 + (left / np.float32(spread)) ** 2)
        local = LOCAL_MM * px_per_mm
        run = run + smooth(left * like, local) / np.maximum(smooth(like, local), np.float32(1e-3))
    difference = np.asarray(filled - run, dtype=np.float32)
    noise = max(spread_of(difference[trust > LEAST_TRUST][::5]), 0.004)
    return _Held(difference, np.asarray(run, dtype=np.float32), trust, noise)


def _give_or_take(uncertainty: float) -> str:
    return f"± {uncertainty:.2f}" if uncertainty >= 0.005 else "each to less than ± 0.01"


def _overall(
    light: Plane, paper: Mask
) -> tuple[tuple[float, float, float], tuple[float, float, float], float]:
    """Shares of red, green and blue, their spread over the sheet, and the mean light of paper."""
    pixels = light[paper] if paper.sum() > 1000 else light.reshape(-1, 3)
    parts = [part.mean(axis=0) for part in np.array_split(pixels, 25)]
    each = np.array([part / max(float(part.sum()), 1e-6) for part in parts])
    mean = pixels.mean(axis=0)
    shares = mean / max(float(mean.sum()), 1e-6)
    spread = np.maximum(each.std(axis=0, ddof=1), 0.002)
    red, green, blue = (float(share) for share in shares)
    first, second, third = (float(value) for value in spread)
    return (red, green, blue), (first, second, third), float(mean.mean())


def _response(blue: float, level: float) -> str:
    if level < FAINT:
        return "faint"
    if blue > BRIGHTENED:
        return "bright blue-white" if level > BRIGHT else "blue-white"
    return "pale bluish" if blue > BLUISH else "dull, yellowish"


def _regions(
    held: _Held,
    paper: Mask,
    day: Plane | None,
    px_per_mm: float,
    smallest_mm2: float,
) -> list[GlowRegion]:
    told = held.trust > LEAST_TRUST
    edge = math.ceil(EDGE_MM * px_per_mm)
    told[:edge] = told[-edge:] = False
    told[:, :edge] = told[:, -edge:] = False
    darker = None
    if day is not None:
        closed = _without_lines(day, px_per_mm)
        darker = broad_trend(closed) - closed
    found = []
    for sign in (1, -1) if day is not None else (1,):
        there = (told & (sign * held.difference > held.least)).astype(np.uint8)
        opened = cv2.morphologyEx(there, cv2.MORPH_OPEN, disc(0.3, px_per_mm))
        closed_up = cv2.morphologyEx(opened, cv2.MORPH_CLOSE, disc(ROUNDED_MM, px_per_mm))
        count, labels, stats, _ = cv2.connectedComponentsWithStats(closed_up)
        for index in range(1, count):
            left, top, wide, high, area = (int(value) for value in stats[index])
            if area < smallest_mm2 * px_per_mm**2:
                continue
            part = (slice(top, top + high), slice(left, left + wide))
            inside = labels[part] == index
            if not _is_blob(inside, px_per_mm) or paper[part][inside].mean() < LEAST_PAPER:
                continue
            if sign < 0 and _within_drawing(paper, labels, index, part, px_per_mm):
                continue
            change = float(np.median(held.difference[part][inside & paper[part]]))
            ratio = math.exp(change)
            by_day = None
            if darker is not None:
                by_day = bool(np.median(darker[part][inside]) > 0.03)
            outline = told_in_mm(longest_contour(inside), left, top, px_per_mm, OUTLINE_OFF_MM)
            around = math.fsum(map(math.dist, outline, outline[1:] + outline[:1]))
            found.append(
                GlowRegion(
                    outline,
                    round(area / px_per_mm**2, 1),
                    # All round, the edge lies within what rounds it, evenly spread (GUM 4.3.7).
                    round(around * ROUNDED_MM / math.sqrt(3), 1),
                    round(ratio, 3),
                    round(ratio * held.noise, 3),
                    by_day,
                    _words(sign, by_day),
                )
            )
    found.sort(key=lambda one: -abs(math.log(one.ratio)) * math.sqrt(one.area_mm2))
    return found[:MOST_REGIONS]


def _within_drawing(
    paper: Mask, labels: NDArray, index: int, part: tuple[slice, slice], px_per_mm: float
) -> bool:
    """Whether a dark place lies among ink on most sides: then it is most likely drawn too."""
    reach = math.ceil(RING_MM * px_per_mm)
    rows, columns = part
    about = (
        slice(max(0, rows.start - reach), rows.stop + reach),
        slice(max(0, columns.start - reach), columns.stop + reach),
    )
    inside = (labels[about] == index).astype(np.uint8)
    ring = (cv2.dilate(inside, disc(RING_MM, px_per_mm)) > 0) & (inside == 0)
    return float(1 - paper[about][ring].mean()) > MOST_DRAWN_ABOUT


def _is_blob(inside: Mask, px_per_mm: float) -> bool:
    """Broad enough somewhere to be a place, not the remains of a line."""
    padded = np.pad(inside.astype(np.uint8), 1)
    return float(cv2.distanceTransform(padded, cv2.DIST_L2, 3).max()) > LEAST_RADIUS_MM * px_per_mm


def _words(sign: int, by_day: bool | None) -> str:
    if sign > 0:
        if by_day:
            return "glows more, and is darker by normal light: glue, size, grease or a tideline"
        return "glows more than the paper about it: glue, size, grease, a coating or a mend"
    if by_day:
        return "glows less, and is darker by normal light: foxing, a stain or a wash"
    return "glows less than the paper about it: something that normal light hardly shows"
