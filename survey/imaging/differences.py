"""How two pictures of one sheet differ, place by place, in units of what differs by chance.

What light, exposure and white balance change is taken out first: it is slow over the sheet, or
the same everywhere. What is drawn never lies on itself to the last tenth of a pixel, so where
both pictures show an edge more difference is expected, and how much is learnt from the pair.
"""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.opened import Mask, Plane, linear
from survey.imaging.outlines import disc_of
from survey.imaging.plate import bent_to, everywhere, grid_of, stiffness
from survey.imaging.rectified import broad_trend, smooth, spread_of

# Light is held against this floor, so that black is finite and its noise does not count.
FLOOR = 0.02
# The colour of what is all but black is known badly, and counts less.
COLOUR_FLOOR = 0.1
# Sizes at which differences are looked for, mm (standard deviation of a Gaussian).
SCALES_MM = (0.22, 0.7, 2.0)
# How far an edge may lie off in one of the pictures, mm.
TOLERANCE_MM = 0.3
# Changes over longer waves than this are the light's; they are told from medians of blocks.
LIGHT_WAVE_MM = 60.0
BLOCK_MM = 3.0
MOST_BLOCKS = 100
# Blurs that are tried, to make the sharper picture as soft as the other, px.
BLURS_PX = (0.0, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.2, 1.5)
# By this share of the sheet, where both show the steepest edges.
EDGES = 0.12
# Chance differences are never taken for smaller than this, in natural logarithms of light; in
# colour a JPEG file keeps hardly finer steps.
LEAST_NOISE = 0.0025
LEAST_COLOUR_NOISE = 0.005
BINS = 12
# The tone of bare paper: this percentile of the light.
PAPER = 75
FEWEST = 50


@dataclass(frozen=True)
class Tones:
    """Natural logarithms of light: how light a place is, and how yellow (red over blue)."""

    light: Plane
    yellow: Plane


@dataclass(frozen=True)
class Difference:
    """Later less earlier, (rows, columns).

    change  in natural logarithms of light, free of what light and camera changed
    score   how many times the usual chance difference, over all sizes; signed like the change
    """

    change: Plane
    score: Plane


def difference(
    earlier: Plane, later: Plane, inside: Mask, px_per_mm: float, least: float = LEAST_NOISE
) -> Difference:
    """``inside``: where both pictures show the sheet. ``least``: of the chance difference."""
    change = without_light(later - earlier, inside, px_per_mm)
    later = earlier + change
    best = np.zeros_like(change)
    for scale_mm in SCALES_MM:
        score = score_at(earlier, later, inside, scale_mm * px_per_mm, px_per_mm, least)
        best = np.where(np.abs(score) > np.abs(best), score, best)
    return Difference(change, np.where(inside, best, np.float32(0)))


def even_light(pixels: NDArray[np.uint8], inside: Mask) -> Plane:
    """Linear light (rows, columns, 3), each colour as a share of what the paper gives back."""
    light = linear(pixels)
    paper = np.percentile(light[inside][::7], PAPER, axis=0).astype(np.float32)
    return np.asarray(light / np.maximum(paper, np.float32(1e-3)), dtype=np.float32)


def tones(light: Plane) -> Tones:
    bright = np.log(np.maximum(light, 0) + np.float32(FLOOR))
    coloured = np.log(np.maximum(light, 0) + np.float32(COLOUR_FLOOR))
    return Tones(
        np.asarray(bright.mean(axis=2), dtype=np.float32),
        np.asarray(coloured[:, :, 0] - coloured[:, :, 2], dtype=np.float32),
    )


def equally_sharp(earlier: Plane, later: Plane, inside: Mask) -> tuple[Plane, Plane]:
    """The sharper of the two blurred as much as makes them most alike. Linear light."""
    best, kept = np.inf, (earlier, later)
    greys = earlier.mean(axis=2), later.mean(axis=2)
    steep = np.minimum(*(_steepness(smooth(grey, 1.0), 1) for grey in greys))
    edges = inside & (steep >= np.quantile(steep[inside], 1 - EDGES))
    for blur in BLURS_PX:
        for which in (0, 1) if blur else (0,):
            pair = [smooth(grey, blur * (number == which)) for number, grey in enumerate(greys)]
            rest = np.log(np.maximum(pair[1], 0) + np.float32(FLOOR))
            rest = rest - np.log(np.maximum(pair[0], 0) + np.float32(FLOOR))
            fine = (rest - smooth(rest, 2.0))[edges]
            apart = float(np.mean(np.minimum(np.abs(fine), 4 * spread_of(fine) + 1e-6)))
            # A blur lessens noise too, so it must be worth it.
            if apart * (1 + 0.01 * (blur > 0)) < best:
                best = apart
                kept = (
                    smooth(earlier, blur * (which == 0)),
                    smooth(later, blur * (which == 1)),
                )
    return kept


def without_light(rest: Plane, inside: Mask, px_per_mm: float) -> Plane:
    """``rest`` without its slow run, which is the light's: the fall of light towards the edges,
    then a plate through medians of blocks."""
    usual = np.float32(np.median(rest[inside]))
    rest = rest - broad_trend(np.where(inside, rest, usual))
    side = max(2, round(BLOCK_MM * px_per_mm), max(rest.shape) // MOST_BLOCKS)
    down, across = (length // side for length in rest.shape)
    held = np.where(inside, rest, np.float32(np.nan))[: down * side, : across * side]
    blocks = held.reshape(down, side, across, side).swapaxes(1, 2).reshape(down * across, -1)
    known = np.isfinite(blocks).mean(axis=1) > 0.5
    medians = np.nanmedian(blocks[known], axis=1).astype(np.float64)
    y, x = np.divmod(np.flatnonzero(known), across)
    points = (np.column_stack([x, y]) + 0.5) * side
    grid = grid_of(rest.shape, 2.0 * side, MOST_BLOCKS)
    stiff = stiffness(LIGHT_WAVE_MM, 2 * side / px_per_mm, 4.0)
    alike = np.ones((len(points), 1, 1))
    nodes = bent_to(points, medians[:, None], alike, rest.shape, grid, stiff)
    return rest - everywhere(nodes[:, :, 0], (rest.shape[0], rest.shape[1]))


def score_at(
    earlier: Plane, later: Plane, inside: Mask, sigma: float, px_per_mm: float, least: float
) -> Plane:
    """The score at one size: ``sigma`` in pixels."""
    weight = np.maximum(smooth(inside.astype(np.float32), sigma), np.float32(0.05))
    one, two = (
        np.asarray(smooth(np.where(inside, plane, np.float32(0)), sigma) / weight, np.float32)
        for plane in (earlier, later)
    )
    reach = max(1, round(TOLERANCE_MM * px_per_mm))
    apart = two - one
    edge = np.minimum(_steepness(one, reach), _steepness(two, reach))
    score = beyond_edges(one, two, reach) / _usual(apart, edge, inside, least)
    return np.asarray(score, dtype=np.float32)


def beyond_edges(earlier: Plane, later: Plane, reach: int) -> Plane:
    """The difference that stays when either may be shifted by ``reach`` pixels."""
    disc = disc_of(reach)
    least_earlier, most_earlier = cv2.erode(earlier, disc), cv2.dilate(earlier, disc)
    least_later, most_later = cv2.erode(later, disc), cv2.dilate(later, disc)
    darker = np.maximum(least_earlier - later, earlier - most_later)
    lighter = np.maximum(later - most_earlier, least_later - earlier)
    return np.maximum(lighter, 0) - np.maximum(darker, 0)


def _steepness(plane: Plane, reach: int) -> Plane:
    right, down = cv2.Sobel(plane, cv2.CV_32F, 1, 0), cv2.Sobel(plane, cv2.CV_32F, 0, 1)
    side = 2 * reach + 1
    steep = cv2.dilate(cv2.magnitude(right, down) / 8, np.ones((side, side), np.uint8))
    return np.asarray(steep, dtype=np.float32)


def _usual(apart: Plane, edge: Plane, inside: Mask, least: float) -> Plane:
    """The chance difference at each place: by how steep an edge both pictures show there.

    Learnt from the pair in classes of steepness, by medians, so that real changes on a small part
    of the sheet count for nothing.
    """
    off = np.abs(apart[inside])[::3]
    steep = edge[inside][::3]
    bounds = np.quantile(steep, np.linspace(0, 1, BINS + 1))
    middles, spreads = [], []
    for low, high in pairwise(bounds):
        here = (steep >= low) & (steep <= high)
        if here.sum() < FEWEST:
            continue
        middles.append(float(np.median(steep[here])))
        # Coding leaves most colours as they were, and a few far off: both are looked at.
        half, most = np.quantile(off[here], (0.5, 0.8))
        spreads.append(max(1.4826 * float(half), float(most) / 1.2816))
    if not middles:
        return np.full_like(apart, max(least, spread_of(apart[inside])))
    # A steeper edge never has less.
    rising = np.maximum.accumulate(np.maximum(spreads, least))
    return np.interp(edge, middles, rising).astype(np.float32)
