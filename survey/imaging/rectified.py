"""What the readings of one rectified sheet under several lights share."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet
from survey.imaging.opened import Plane, linear, luminance

# Sizes told in mm may differ by this much and still be those of one sheet.
SAME_SIZE_MM = 1.0
SMALLEST_PX = 48
STRIP_PIXELS = 1_000_000

# Darker than this share of full light at its brightest tenth, a picture tells nothing.
DARK = 0.012
CLIPPED = 252
MOST_CLIPPED = 0.5

GREY = 128

# The slow run is taken from medians of so many blocks along an edge, of so many samples each way.
BLOCKS = 40
BLOCK_SAMPLES = 8

Grey = NDArray[np.uint8]


class NotReadable(ValueError):
    """The photographs cannot be read so. The message is a sentence for the person."""


def check(sheets: Sequence[tuple[str, RectifiedSheet]]) -> None:
    """Raises NotReadable when pictures are tiny, dark, blown out, or not of one sheet.

    ``sheets`` are pairs of a name for the sentence ("photograph under normal light") and picture.
    """
    name, first = sheets[0]
    for other, sheet in sheets[1:]:
        apart = max(abs(sheet.width_mm - first.width_mm), abs(sheet.height_mm - first.height_mm))
        if apart > SAME_SIZE_MM:
            raise NotReadable(
                f"The {name} and the {other} show sheets of different size "
                f"({first.width_mm:.0f} × {first.height_mm:.0f} mm and {sheet.width_mm:.0f} × "
                f"{sheet.height_mm:.0f} mm). Check that both are of this side of this sheet, and "
                "mark its corners again."
            )
    for name, sheet in sheets:
        if min(sheet.pixels.shape[:2]) < SMALLEST_PX:
            raise NotReadable(
                f"The {name} is too small to read. Photograph the sheet so that it fills the "
                "picture."
            )
        sample = sheet.pixels[:: _step(sheet), :: _step(sheet)]
        light = luminance(linear(sample))
        if np.percentile(light, 90) < DARK:
            raise NotReadable(
                f"The {name} is all dark. Photograph it again with a longer exposure."
            )
        if np.mean(sample.max(axis=2) >= CLIPPED) > MOST_CLIPPED:
            raise NotReadable(
                f"The {name} is overexposed: more than half of the sheet is blank white. "
                "Photograph it again with a shorter exposure."
            )


def _step(sheet: RectifiedSheet) -> int:
    return max(1, min(sheet.pixels.shape[:2]) // 400)


def working_size(
    sheets: Sequence[RectifiedSheet], most_px_per_mm: float, most_pixels: float
) -> tuple[tuple[int, int], float]:
    """((rows, columns), px_per_mm) for working on the sheets together: never finer than any."""
    first = sheets[0]
    scale = min(
        most_px_per_mm,
        *(sheet.px_per_mm for sheet in sheets),
        (most_pixels / (first.width_mm * first.height_mm)) ** 0.5,
    )
    shape = (max(1, round(first.height_mm * scale)), max(1, round(first.width_mm * scale)))
    return shape, scale


def resized(picture: NDArray, shape: tuple[int, int]) -> NDArray:
    """``picture`` at another (rows, columns); averaged, not sampled, where it gets smaller."""
    if picture.shape[:2] == shape:
        return picture
    smaller = shape[0] <= picture.shape[0]
    how = cv2.INTER_AREA if smaller else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(picture, (shape[1], shape[0]), interpolation=how))


def strips(rows: int, columns: int) -> list[slice]:
    """Row slices of about a million pixels, so that work on them needs little memory."""
    deep = max(1, STRIP_PIXELS // max(1, columns))
    return [slice(start, min(rows, start + deep)) for start in range(0, rows, deep)]


def luminance_plane(sheet: RectifiedSheet, shape: tuple[int, int]) -> Plane:
    """Relative luminance of the sheet at (rows, columns), 0…1."""
    rows, columns = sheet.pixels.shape[:2]
    light = np.empty((rows, columns), dtype=np.float32)
    for strip in strips(rows, columns):
        light[strip] = luminance(linear(sheet.pixels[strip]))
    return resized(light, shape)


def linear_planes(sheet: RectifiedSheet, shape: tuple[int, int]) -> Plane:
    """Linear red, green and blue of the sheet at (rows, columns, 3)."""
    planes = np.empty((*shape, 3), dtype=np.float32)
    for band in range(3):
        planes[:, :, band] = resized(linear(sheet.pixels[:, :, band]), shape)
    return planes


def clipped_plane(sheet: RectifiedSheet, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Where any part of a pixel is overexposed."""
    over = np.asarray((sheet.pixels.max(axis=2) >= CLIPPED) * np.uint8(255), dtype=np.uint8)
    return resized(over, shape) > 0


def smooth(field: Plane, sigma_px: float) -> Plane:
    """Gaussian mean; as it was for less than a fifth of a pixel.

    Broad ones are taken from a reduced copy: the cost does not grow with their breadth.
    """
    if sigma_px < 0.2:
        return field
    if sigma_px <= 8:
        near = cv2.GaussianBlur(field, (0, 0), sigma_px, borderType=cv2.BORDER_REFLECT)
        return np.asarray(near, dtype=np.float32)
    rows, columns = field.shape[:2]
    factor = sigma_px / 4
    small = (max(1, round(rows / factor)), max(1, round(columns / factor)))
    blurred = cv2.GaussianBlur(
        resized(field, small),
        (0, 0),
        sigmaX=sigma_px * small[1] / columns,
        sigmaY=sigma_px * small[0] / rows,
        borderType=cv2.BORDER_REFLECT,
    )
    large = cv2.resize(blurred, (columns, rows), interpolation=cv2.INTER_CUBIC)
    return np.asarray(large, dtype=np.float32)


def spread_of(values: NDArray) -> float:
    """Robust standard deviation: 1.4826 times the median absolute deviation."""
    if values.size == 0:
        return 0.0
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))


def broad_trend(field: Plane, order: int = 3) -> Plane:
    """The slow run of a field over the sheet: a polynomial in x and y through block medians.

    Fitted by iteratively reweighted least squares (Cauchy weights), so that a drawing or a
    stain on a part of the sheet does not bend it. Same shape as ``field``.
    """
    rows, columns = field.shape
    down, across = (max(1, min(BLOCKS, side // BLOCK_SAMPLES)) for side in (rows, columns))
    at_rows, at_columns = (
        ((np.arange(count * BLOCK_SAMPLES) + 0.5) * side / (count * BLOCK_SAMPLES)).astype(int)
        for count, side in ((down, rows), (across, columns))
    )
    sample = field[np.ix_(at_rows, at_columns)]
    blocks = sample.reshape(down, BLOCK_SAMPLES, across, BLOCK_SAMPLES)
    wanted = np.median(blocks, axis=(1, 3)).ravel().astype(np.float64)
    y, x = ((np.arange(count) + 0.5) * 2 / count - 1 for count in (down, across))
    powers = [(i, j) for i in range(order + 1) for j in range(order + 1 - i)]
    design = np.stack([np.outer(y**i, x**j).ravel() for i, j in powers], axis=1)
    weights = np.ones_like(wanted)
    for _ in range(8):
        weighted = design * weights[:, None]
        solved = np.linalg.solve(
            weighted.T @ design + 1e-9 * len(wanted) * np.eye(len(powers)), weighted.T @ wanted
        )
        left = wanted - design @ solved
        weights = 1 / (1 + (left / (2.4 * spread_of(left) + 1e-6)) ** 2)
    full_y = ((np.arange(rows) + 0.5) * 2 / rows - 1).astype(np.float32)
    full_x = ((np.arange(columns) + 0.5) * 2 / columns - 1).astype(np.float32)
    trend = np.zeros((rows, columns), dtype=np.float32)
    for i in range(order + 1):
        row_of_x = sum(
            np.float32(solved[powers.index((i, j))]) * full_x**j for j in range(order + 1 - i)
        )
        trend += (full_y**i)[:, None] * row_of_x[None, :]
    return trend


def as_grey(values: Plane, half_range: float) -> Grey:
    """Neutral grey about 128: ``half_range`` from nought is three quarters of the way out.

    Beyond that it bends over (hyperbolic tangent), so that nothing is cut off.
    """
    bent = np.tanh(values / np.float32(max(half_range, 1e-9)))
    return np.clip(np.rint(GREY + 127 * bent), 0, 255).astype(np.uint8)
