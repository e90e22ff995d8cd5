"""Sheets and measurements that several tests of the renderer share."""

import numpy as np
from numpy.typing import NDArray

from survey.demo.sheet.camera import Camera, Pixels, mapped
from survey.demo.sheet.geometry import Points, bounds
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.structure import Sheet
from survey.demo.sheet.truth import truth_of

# Square above the sheet, and nothing added: what is measured is the light alone.
EXACT = Camera(blur_px=0, noise=0, unevenness=0)

Plane = NDArray[np.float64]


def plain(**changed: object) -> SheetRecipe:
    """A small cream laid sheet with nothing on it."""
    told: dict[str, object] = {
        "seed": 5,
        "width_mm": 120.0,
        "height_mm": 100.0,
        "cockle_mm": 0.0,
        "chain_jitter_mm": 0.0,
    }
    return SheetRecipe(**(told | changed))


def luminance(pixels: Pixels) -> Plane:
    """Linear light, 0…1, from sRGB (weights of ITU-R BT.709)."""
    coded = pixels / 255
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def pixel_box(truth: dict, points: Points) -> tuple[slice, slice]:
    """The pixels within the bounds of ``points``, mm on the side that the picture shows."""
    to_pixels = np.linalg.inv(np.array(truth["homography"]).reshape(3, 3))
    left, top, right, bottom = bounds(points)
    (x0, y0), (x1, y1) = mapped(to_pixels, left, top), mapped(to_pixels, right, bottom)
    return slice(round(y0), round(y1)), slice(round(x0), round(x1))


def on_sheet(sheet: Sheet, pixels: Pixels, inset_mm: float = 8.0) -> Plane:
    """Luminance of the sheet without its edges, for a picture taken by EXACT."""
    truth = truth_of(sheet, "recto", EXACT)
    w, h = truth["sheet_mm"]
    corners = ((inset_mm, inset_mm), (w - inset_mm, h - inset_mm))
    return luminance(pixels)[pixel_box(truth, corners)]


def strength_at(picture: Plane, px_per_mm: float, per_mm: float, axis: int) -> float:
    """Amplitude of the wave of ``per_mm`` cycles that runs along ``axis``, as a share of the mean.

    The greatest magnitude of the windowed 2-D Fourier transform within 6 % of that frequency
    and within two steps of the axis.
    """
    flat = picture / picture.mean() - 1
    window = np.outer(np.hanning(flat.shape[0]), np.hanning(flat.shape[1]))
    spectrum = np.abs(np.fft.fft2(flat * window)) * 2 / window.sum()
    frequency = np.fft.fftfreq(flat.shape[axis], 1 / px_per_mm)
    near = np.flatnonzero(np.abs(frequency - per_mm) < 0.06 * per_mm)
    along = np.moveaxis(spectrum, axis, 0)[near]
    return float(along[:, [0, 1, 2, -1, -2]].max())
