"""From slopes to heights.

R. T. Frankot and R. Chellappa, "A method for enforcing integrability in shape from shading
algorithms", IEEE Transactions on Pattern Analysis and Machine Intelligence 10(4), 1988: of all
surfaces, the one whose slopes come nearest in the sense of least squares, found frequency by
frequency. Here on cosines, as of a surface mirrored at its edges, so that opposite edges of the
sheet need not meet.
"""

import math

import numpy as np
from scipy.fft import dct, dst, idctn

from survey.imaging.opened import Plane


def heights(
    slope_x: Plane, slope_y: Plane, px_per_mm: float, longest_mm: float | None = None
) -> Plane:
    """Height in mm towards the viewer, mean 0, of slopes dz/dx and dz/dy (mm per mm).

    Waves longer than ``longest_mm`` are held back: small errors of slope that are the same over
    a wide place add up to great false hills.
    """
    rows, columns = slope_x.shape
    # Frequencies in radians per mm: the k-th cosine has k half waves across the sheet.
    along_y = (math.pi * np.arange(rows, dtype=np.float32) * np.float32(px_per_mm / rows))[:, None]
    along_x = (math.pi * np.arange(columns, dtype=np.float32) * np.float32(px_per_mm / columns))[
        None, :
    ]
    # d/dx cos = -sin: the slopes are sums of sines in their own direction, cosines in the other.
    right = -_sines(dct(slope_x, type=2, axis=0), axis=1)
    down = -_sines(dct(slope_y, type=2, axis=1), axis=0)
    power = along_x**2 + along_y**2
    power[0, 0] = 1
    spectrum = (along_x * right + along_y * down) / power
    spectrum[0, 0] = 0
    if longest_mm is not None:
        least = np.float32(2 * math.pi / longest_mm) ** 2
        spectrum *= power / (power + least)
    return idctn(spectrum, type=2).astype(np.float32)


def _sines(field: Plane, axis: int) -> Plane:
    """Sine transform whose k-th value belongs to the k-th cosine; the 0th has no sine."""
    moved = np.moveaxis(dst(field, type=2, axis=axis), axis, 0)
    shifted = np.zeros_like(moved)
    shifted[1:] = moved[:-1]
    return np.moveaxis(shifted, 0, axis)
