"""From the numbers in a file to light."""

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]


def _linear_table() -> Plane:
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


_LINEAR = _linear_table()


def linear(pixels: NDArray[np.uint8]) -> Plane:
    """Linear light, 0…1, of sRGB (IEC 61966-2-1)."""
    return _LINEAR[pixels]


def luminance(light: Plane) -> Plane:
    """Relative luminance, 0…1, of linear red, green and blue (ITU-R BT.709)."""
    return light @ np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
