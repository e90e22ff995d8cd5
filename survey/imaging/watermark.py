"""The watermark made plain: what the paper alone does to the light that comes through it.

Light that comes through meets the paper and the drawing; light thrown back tells of the drawing
alone. By the Beer-Lambert law their effects on the logarithm of the light add up, so what the
normal light shows, blurred as the sheet blurs it, can be taken from the transmitted light.
"""

import itertools

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet
from survey.imaging.opened import Plane
from survey.imaging.rectified import (
    Grey,
    as_grey,
    check,
    linear_planes,
    luminance_plane,
    resized,
    smooth,
    spread_of,
    working_size,
)
from survey.imaging.shifts import detail, locally_settled, settled, shift_between

PX_PER_MM = 8.0
MOST_PIXELS = 12e6

# The sheet spreads light sideways by an amount nobody knows: several are offered to the fit.
SPREADS_MM = (0.08, 0.2, 0.45)
# The drawing's effect is fitted anew over about this distance, and held to that of the whole.
LOCAL_MM = 9.0
HOLD = 0.05
ROUNDS = 3
CAUCHY = 2.385

FINEST_DRAWING_MM = 4.0
PAPER_PERCENT = 75
# Clouds of the paper broader than this are taken out.
BROAD_MM = 4.0
EVENED_MM = 18.0
# Times the usual spread that lie three quarters of the way from grey to white.
HALF_RANGE = 3.2
DARKEST = np.float32(0.003)
MOST_LOCAL_SHIFT_MM = 0.3
LOCAL_ROUNDS = 2


def enhanced(
    transmitted: RectifiedSheet, normal: RectifiedSheet | None = None, mirrored: bool = False
) -> Grey:
    """The paper's own pattern under transmitted light: light where it is thin; (rows, columns).

    normal    the same side under normal light: the drawing on it is taken out
    mirrored  turn left and right about, for a photograph taken from the side from which the
              watermark reads the wrong way round

    What is drawn on the other side stays. At most 8 px per mm. Neutral grey is 128. Raises
    NotReadable with a sentence.
    """
    named = [("photograph under transmitted light", transmitted)]
    if normal is not None:
        named.append(("photograph under normal light", normal))
    check(named)
    shape, px_per_mm = working_size([sheet for _, sheet in named], PX_PER_MM, MOST_PIXELS)
    light = luminance_plane(transmitted, shape)
    through = np.log(np.maximum(light, DARKEST))
    if normal is not None:
        through = through - _drawing_within(through, light, normal, px_per_mm)
    paper = through - smooth(through, BROAD_MM * px_per_mm)
    paper = _calmed(paper, light, px_per_mm)
    picture = as_grey(_evened(paper, px_per_mm), HALF_RANGE)
    return np.ascontiguousarray(picture[:, ::-1]) if mirrored else picture


def _drawing_within(
    through: Plane, light: Plane, normal: RectifiedSheet, px_per_mm: float
) -> Plane:
    """What the drawing does to the logarithm of the transmitted light."""
    shape = (through.shape[0], through.shape[1])
    reflected = linear_planes(normal, shape)
    fixed = detail(light, px_per_mm)
    seen = detail(reflected.mean(axis=2), px_per_mm)
    shift = shift_between(fixed, seen, px_per_mm)
    both = settled(np.dstack([reflected, seen]), shift.matrix)
    for _ in range(LOCAL_ROUNDS):
        moving = np.ascontiguousarray(both[:, :, 3])
        both = locally_settled(fixed, moving, both, px_per_mm, MOST_LOCAL_SHIFT_MM)
    reflected = both[:, :, :3]
    reflected = np.maximum(reflected, DARKEST)
    parts = _offered(reflected, px_per_mm)
    fine = [_without_slow(part, px_per_mm) for part in parts]
    shares = _shares(_without_slow(through, px_per_mm), fine, px_per_mm)
    drawing = np.zeros_like(through)
    for share, part in zip(shares, parts, strict=True):
        # Bare paper is the brightest: there nothing is to be taken out.
        drawing += share * (part - np.float32(np.percentile(part[::3, ::3], PAPER_PERCENT)))
    return drawing


def _offered(reflected: Plane, px_per_mm: float) -> list[Plane]:
    """What the drawing may do: its absorbance, sharp or spread, and its colour."""
    grey = reflected.mean(axis=2)
    # Light passes once what it passed twice in reflection: hence the root.
    root = np.sqrt(grey)
    parts = [np.log(smooth(root, spread * px_per_mm)) for spread in SPREADS_MM]
    red, green, blue = (
        smooth(np.log(reflected[:, :, band]), 0.12 * px_per_mm) for band in range(3)
    )
    return [*parts, red - green, blue - green]


def _without_slow(field: Plane, px_per_mm: float) -> Plane:
    return field - smooth(field, FINEST_DRAWING_MM * px_per_mm)


def _shares(wanted: Plane, parts: list[Plane], px_per_mm: float) -> list[Plane]:
    """The shares of ``parts`` whose sum is nearest to ``wanted``, changing slowly over the sheet.

    Weighted least squares about every place (Gaussian, LOCAL_MM), drawn towards the shares of
    the whole sheet, and reweighted (Cauchy) so that the watermark itself does not bend it.
    """
    count = len(parts)
    weights = np.ones_like(wanted)
    shares: list[Plane] = []
    for _ in range(ROUNDS):
        products = np.empty((count, count + 1, *_coarse(wanted.shape, px_per_mm)), np.float32)
        for i, j in itertools.combinations_with_replacement(range(count), 2):
            products[i, j] = products[j, i] = _local(weights * parts[i] * parts[j], px_per_mm)
        for i in range(count):
            products[i, count] = _local(weights * parts[i] * wanted, px_per_mm)
        whole = products.mean(axis=(2, 3))
        ridge = 1e-6 + 1e-3 * np.trace(whole[:, :count]) / count
        overall = np.linalg.solve(whole[:, :count] + ridge * np.eye(count), whole[:, count])
        held = np.diag(HOLD * np.diag(whole[:, :count]) + ridge)
        left = np.moveaxis(products[:, :count], (0, 1), (2, 3)) + held
        right = np.moveaxis(products[:, count], 0, 2) + held @ overall
        solved = np.linalg.solve(left, right[:, :, :, None])[:, :, :, 0].astype(np.float32)
        shares = [resized(solved[:, :, index], wanted.shape[:2]) for index in range(count)]
        misfit = wanted - sum(share * part for share, part in zip(shares, parts, strict=True))
        scale = np.float32(CAUCHY * max(spread_of(misfit[::3, ::3]), 1e-4))
        weights = np.asarray(1 / (1 + (misfit / scale) ** 2), dtype=np.float32)
    return shares


def _coarse(shape: tuple[int, ...], px_per_mm: float) -> tuple[int, int]:
    step = LOCAL_MM * px_per_mm / 3
    return max(2, round(shape[0] / step)), max(2, round(shape[1] / step))


def _local(field: Plane, px_per_mm: float) -> Plane:
    """Mean about each place of a coarse grid."""
    rows, columns = _coarse(field.shape, px_per_mm)
    small = cv2.resize(field, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(
        cv2.GaussianBlur(small, (0, 0), 1.5, borderType=cv2.BORDER_REFLECT), dtype=np.float32
    )


def _calmed(paper: Plane, light: Plane, px_per_mm: float) -> Plane:
    """Under thick ink hardly any light comes through: there the neighbours speak."""
    level = light / np.float32(max(float(np.median(light)), 1e-4))
    trust: Plane = (level**2 / (level**2 + np.float32(0.01))).astype(np.float32)
    sigma = 0.3 * px_per_mm
    near = smooth(paper * trust, sigma) / np.maximum(smooth(trust, sigma), np.float32(1e-2))
    fine = smooth(paper, 0.1 * px_per_mm)
    return np.asarray(near + trust * (fine - near), dtype=np.float32)


def _evened(paper: Plane, px_per_mm: float) -> Plane:
    """Over its own local spread, gently: faint parts come up, strong ones come down by half."""
    spread = np.sqrt(smooth(np.minimum(paper**2, 9 * spread_of(paper) ** 2), EVENED_MM * px_per_mm))
    usual = np.float32(max(float(np.median(spread)), 1e-5))
    local: NDArray = np.sqrt(np.maximum(spread, 0.3 * usual) * usual)
    return np.asarray(paper / local, dtype=np.float32)
