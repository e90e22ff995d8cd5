"""Colour and exposure of a photograph by a target in its frame, so that years compare."""

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from survey.imaging.chart import (
    Chart,
    check_corners_order,
    delta_e_2000,
    lab_of,
    light_of,
)
from survey.imaging.geometry import Points, WrongPoints, four_to_four, mapped
from survey.imaging.opened import Mask, Pixels, encoded, linear, luminance
from survey.imaging.tapped import CORNERS, convex, far_enough, finite, within

Matrix = NDArray[np.float64]
Light = NDArray[np.float64]

# The middle of a patch that is read, as a share of its sides: edges are blurred and cast shadows.
READ = 0.55
ACROSS = 40
SMALLEST_PATCH_PX = 6.0
# 8-bit values that no longer say how bright or how dark a place was.
BRIGHTEST, DARKEST = 253, 2
CLIPPED_SHARE = 0.02
# Spread of light within a patch, as a share of it, above which something else lies in it.
MOST_SPREAD = 0.25
# Light that changes by more than this across the target is told, as a share.
UNEVEN = 0.10
# Lightness and place of patches more closely tied than this cannot be told apart.
MOST_TIED = 0.8
# A matrix is tried from this many patches, of which so many are coloured.
FEWEST_FOR_MATRIX, FEWEST_COLOURED = 12, 6


@dataclass(frozen=True)
class Differences:
    """CIEDE2000 over the patches that are not clipped."""

    mean: float
    p95: float
    worst: float
    worst_patch: str


@dataclass(frozen=True)
class Reading:
    """One patch. ``before`` and ``after`` are CIEDE2000 to its reference; None when clipped."""

    name: str
    reference_lab: tuple[float, float, float]
    seen_lab: tuple[float, float, float]
    corrected_lab: tuple[float, float, float]
    before: float | None
    after: float | None


@dataclass(frozen=True)
class Colour:
    """What a target says of a photograph.

    gains           of linear red, green and blue to make greys grey; green is 1
    exposure_stops  how much lighter (+) than the target says the photograph is, in stops
    exposure_uncertainty_stops  standard uncertainty of that, from how far the greys disagree
    matrix          (3, 3) rows: linear sRGB as photographed to corrected, exposure included
    with_matrix     whether colours are mixed as well, or only gains and exposure set
    before, after   differences to the reference; each patch is judged by a correction in which it
                    had no part
    uncertainty     standard uncertainty of the mean difference afterwards, CIEDE2000
    sentences       what the person should know
    """

    chart: str
    gains: tuple[float, float, float]
    exposure_stops: float
    exposure_uncertainty_stops: float
    matrix: tuple[tuple[float, float, float], ...]
    with_matrix: bool
    before: Differences
    after: Differences
    uncertainty: float
    patches: tuple[Reading, ...]
    sentences: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


def read_target(pixels: Pixels, corners: ArrayLike, chart: Chart) -> Colour:
    """Read the target whose corners (4, 2), pixels with edges at whole numbers, were tapped.

    From the corner beside the chart's own top left clockwise. Raises WrongPoints with a sentence
    when the corners cannot be those of this chart, or when too few patches can be read.
    """
    points = finite(corners, 4, "Tap the four corners of the colour target.")
    within(points, (pixels.shape[1], pixels.shape[0]), CORNERS)
    far_enough(points, SMALLEST_PATCH_PX / 5, CORNERS)
    convex(points)
    seen, spread, clipped = sampled(pixels, points, chart)
    check_corners_order(seen, chart)
    sentences = list(_said_of_patches(spread, clipped, chart))
    good = ~clipped
    grey = np.array([patch.is_grey for patch in chart.patches])
    if (good & grey).sum() < 2 or good.sum() < 4:
        raise WrongPoints(
            "Too few patches of the target can be read: the others are burnt out or black. "
            "Photograph it again with another exposure."
        )
    told = light_of(chart.lab, chart.illuminant)
    scales = balanced(seen[good & grey], told[good & grey])
    sentences += _said_of_light(seen, told, scales, good, chart)
    simple = np.diag(scales)
    judged = np.array(
        [
            seen[at] @ np.diag(balanced(*_without(seen, told, good & grey, at)))
            for at in range(len(seen))
        ]
    )
    coloured = (good & ~grey).sum()
    matrix, with_matrix = simple, False
    if good.sum() >= FEWEST_FOR_MATRIX and coloured >= FEWEST_COLOURED:
        mixed = np.array(
            [seen[at] @ mixing(*_without(seen, told, good, at)).T for at in range(len(seen))]
        )
        by_gains, by_mixing = (
            delta_e_2000(lab_of(light, chart.illuminant), chart.lab)[good].mean()
            for light in (judged, mixed)
        )
        # More numbers fit better and may mean less: they must also tell patches left out.
        if by_mixing < by_gains:
            matrix, judged, with_matrix = mixing(seen[good], told[good]), mixed, True
    seen_lab = lab_of(seen, chart.illuminant)
    judged_lab = lab_of(judged, chart.illuminant)
    before, after = (delta_e_2000(lab, chart.lab) for lab in (seen_lab, judged_lab))
    off = np.log2((seen[good & grey] * scales).mean(axis=1) / told[good & grey].mean(axis=1))
    return Colour(
        chart.name,
        _three(scales / scales[1]),
        -math.log2(float(luminance(scales.astype(np.float32)))),
        float(off.std(ddof=1) / math.sqrt(len(off))),
        tuple(_three(row) for row in matrix),
        with_matrix,
        _differences(before, good, chart),
        _differences(after, good, chart),
        float(after[good].std(ddof=1) / math.sqrt(good.sum())),
        tuple(
            Reading(
                patch.name,
                patch.lab,
                _three(seen_lab[at]),
                _three(judged_lab[at]),
                None if clipped[at] else float(before[at]),
                None if clipped[at] else float(after[at]),
            )
            for at, patch in enumerate(chart.patches)
        ),
        tuple(sentences),
    )


def corrected(pixels: Pixels, colour: Colour) -> Pixels:
    """The photograph (rows, columns, 3) as the target says it should look. A new array."""
    matrix = np.array(colour.matrix, dtype=np.float32)
    return encoded(linear(pixels) @ matrix.T)


def sampled(
    pixels: Pixels, points: Points, chart: Chart
) -> tuple[Light, NDArray[np.float64], Mask]:
    """Of each patch: usual linear light (n, 3), its spread as a share, whether it is clipped."""
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    to_picture = four_to_four(square, points)
    inwards = (np.arange(ACROSS) + 0.5) / ACROSS * READ + (1 - READ) / 2
    across, down = (grid.ravel() for grid in np.meshgrid(inwards, inwards))
    seen, spread, clipped = [], [], []
    for patch in chart.patches:
        left, top, right, bottom = patch.box
        ends = mapped(to_picture, [(left, top), (right, top), (right, bottom), (left, bottom)])
        if np.linalg.norm(np.roll(ends, 1, axis=0) - ends, axis=1).min() < SMALLEST_PATCH_PX:
            raise WrongPoints(
                "The target is too small in this photograph to read its patches. Come closer, or "
                "tap its corners again."
            )
        places = mapped(
            to_picture,
            np.column_stack([left + across * (right - left), top + down * (bottom - top)]),
        )
        x, y = np.floor(places).astype(int).T
        coded = pixels[np.clip(y, 0, pixels.shape[0] - 1), np.clip(x, 0, pixels.shape[1] - 1)]
        light = linear(coded).astype(np.float64)
        middle = np.median(light, axis=0)
        off = 1.4826 * np.median(np.abs(light - middle), axis=0)
        # The mean of what lies about the median: finer than a step of 8 bits.
        usual = np.abs(light - middle) <= np.maximum(3 * off, 0.02 * middle + 1e-4)
        seen.append((light * usual).sum(axis=0) / usual.sum(axis=0))
        # From the tenth to the ninetieth of a hundred lie 2.56 standard deviations.
        low, high = np.percentile(light, (10, 90), axis=0)
        spread.append((high - low).max() / 2.56 / max(float(middle.max()), 0.01))
        lost = (coded >= BRIGHTEST) | (coded <= DARKEST)
        clipped.append(bool((lost.mean(axis=0) > CLIPPED_SHARE).any()))
    return np.array(seen), np.array(spread), np.array(clipped)


def balanced(seen: Light, told: Light) -> Light:
    """(3,) factors of red, green and blue that make greys as light as they are told to be.

    By the mean of logarithms, so that a dark grey says as much as a light one.
    """
    return np.exp(np.mean(np.log(np.maximum(told, 1e-4) / np.maximum(seen, 1e-4)), axis=0))


def mixing(seen: Light, told: Light) -> Matrix:
    """(3, 3) that takes the light seen to the light told, by least squares.

    Each patch counts by the inverse of its lightness, for the eye judges shares.
    """
    weight = 1 / (told.mean(axis=1, keepdims=True) + 0.05)
    solved, *_ = np.linalg.lstsq(seen * weight, told * weight, rcond=None)
    return np.asarray(solved.T)


def _without(seen: Light, told: Light, used: Mask, at: int) -> tuple[Light, Light]:
    kept = used.copy()
    kept[at] = False
    return seen[kept], told[kept]


def _differences(values: Light, good: Mask, chart: Chart) -> Differences:
    kept = values[good]
    names = [patch.name for patch, one in zip(chart.patches, good, strict=True) if one]
    return Differences(
        float(kept.mean()),
        float(np.percentile(kept, 95)),
        float(kept.max()),
        names[int(kept.argmax())],
    )


def _said_of_patches(spread: NDArray[np.float64], clipped: Mask, chart: Chart) -> list[str]:
    names = [patch.name for patch in chart.patches]
    sentences = []
    lost = [name for name, one in zip(names, clipped, strict=True) if one]
    if lost:
        sentences.append(
            f"Burnt out or black, and left out: {', '.join(lost)}. A photograph exposed so that no "
            "patch is lost tells more."
        )
    mixed = [name for name, one in zip(names, spread, strict=True) if one > MOST_SPREAD]
    if mixed:
        sentences.append(
            f"Something lies across {', '.join(mixed)}: a shadow, a reflection, or the corners are "
            "a little off. Look at the target, and tap its corners again if need be."
        )
    return sentences


def _said_of_light(seen: Light, told: Light, scales: Light, good: Mask, chart: Chart) -> list[str]:
    """A sentence when light falls off across the target, by a plane through all patches."""
    boxes = np.array([patch.box for patch in chart.patches])[good]
    places = (boxes[:, :2] + boxes[:, 2:]) / 2
    places = places - places.mean(axis=0)
    dark = np.log(np.maximum(told[good].mean(axis=1), 1e-4))
    ratio = np.log((seen[good] * scales).mean(axis=1)) - dark
    # In a row of greys from light to dark, a fall of light cannot be told from stray light.
    tied = [abs(float(np.corrcoef(along, dark)[0, 1])) for along in places.T if np.ptp(along) > 0]
    if max(tied) > MOST_TIED:
        return []
    solved, *_ = np.linalg.lstsq(np.column_stack([places, np.ones(len(places))]), ratio, rcond=None)
    fall = math.expm1(float(np.abs(solved[:2]).sum()))
    if fall < UNEVEN:
        return []
    return [
        f"The light changes by about {100 * fall:.0f} % across the target, so exposure is sure to "
        "no better than that. Set the lamps alike, or bring the target nearer the sheet."
    ]


def _three(values: ArrayLike) -> tuple[float, float, float]:
    one, two, three = (float(value) for value in np.asarray(values))
    return one, two, three
