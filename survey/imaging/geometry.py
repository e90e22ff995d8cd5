"""A photograph brought into the sheet's own millimetres."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class RectifiedSheet:
    """One side of a sheet seen squarely: pixel (row, column) has its middle at
    ((column + ½) / px_per_mm, (row + ½) / px_per_mm) mm from the side's top left corner.

    pixels  uint8 sRGB of shape (rows, columns, 3)
    """

    pixels: NDArray[np.uint8]
    px_per_mm: float
    width_mm: float
    height_mm: float
