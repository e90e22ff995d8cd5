"""Random fields with a length in millimetres, the same whatever the resolution."""

import math
import zlib

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

Field = NDArray[np.float32]

# Interpolation of white noise loses variance; these bring it back to about one.
_BICUBIC_GAIN = 1.25
_SMOOTH_GAIN = 3.6
# Coarser noise than this is smoothed on a lattice of half its cell, or its squares would show.
_SMOOTH_FROM_MM = 1.0


def stream(seed: int, *words: str) -> np.random.Generator:
    """An independent random stream for one purpose, so that adding one shifts no other."""
    return np.random.default_rng([seed, *(zlib.crc32(word.encode()) for word in words)])


def enlarged(
    lattice: Field, box: tuple[float, float, float, float], shape: tuple[int, int]
) -> Field:
    """``lattice`` inside ``box`` (left, top, right, bottom in cells), resampled to ``shape``."""
    picture = Image.fromarray(np.ascontiguousarray(lattice, dtype=np.float32))
    rows, columns = shape
    return np.asarray(picture.resize((columns, rows), Image.Resampling.BICUBIC, box=box))


def cloud(
    random: np.random.Generator,
    size_mm: tuple[float, float],
    shape: tuple[int, int],
    cell_mm: float,
    stretch: float = 1.0,
) -> Field:
    """Smooth noise of mean 0 and standard deviation about 1.

    ``size_mm`` is (width, height); ``shape`` is (rows, columns); ``cell_mm`` is the distance
    over which it changes, ``stretch`` times longer in x.
    """
    smooth = cell_mm >= _SMOOTH_FROM_MM
    step = cell_mm / 2 if smooth else cell_mm
    across, down = size_mm[0] / (step * stretch), size_mm[1] / step
    count = (math.ceil(down) + 8, math.ceil(across) + 8)
    lattice = random.standard_normal(count, dtype=np.float32)
    if smooth:
        lattice = gaussian_filter(lattice, 1.0, truncate=3.0)
    box = (3.5, 3.5, 3.5 + across, 3.5 + down)
    gain = _SMOOTH_GAIN if smooth else _BICUBIC_GAIN
    return enlarged(lattice, box, shape) * np.float32(gain)


def wander(random: np.random.Generator, steps: int, cell: float) -> NDArray[np.float64]:
    """A smooth one-dimensional wander of ``steps`` values, changing over about ``cell`` steps."""
    knots = max(4, math.ceil(steps / cell) + 3)
    lattice = random.standard_normal((1, knots)).astype(np.float32)
    line = enlarged(lattice, (0.5, 0.0, 0.5 + (steps / cell), 1.0), (1, steps))
    return line[0].astype(np.float64) * _BICUBIC_GAIN
