"""Where a photograph lies on its sheet."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class RectifiedSheet:
    """A photograph of one side of a sheet, laid square: its edges are the sheet's edges.

    pixels       uint8 sRGB, (rows, columns, 3)
    px_per_mm    pixels in one millimetre of the sheet
    width_mm     of the sheet, as is height_mm
    """

    pixels: NDArray[np.uint8]
    px_per_mm: float
    width_mm: float
    height_mm: float
