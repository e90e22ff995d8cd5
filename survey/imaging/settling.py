"""Where places of a sheet lie in a second picture, when it does not lie quite as flat as before."""

import numpy as np

from survey.imaging.opened import Plane
from survey.imaging.patches import matched
from survey.imaging.plate import bent_to, everywhere, grid_of, stiffness

# A patch is as broad as this, and looked for within the reach.
PATCH_MM = 9.0
REACH_MM = 2.0
FEWEST_PATCHES = 8
# What bends over less than this is not believed of paper that lies in a photograph.
WAVE_MM = 60.0
NODE_MM = 6.0
MOST_NODES = 100


def drift(fixed: Plane, moving: Plane, px_per_mm: float) -> Plane | None:
    """(rows, columns, 2): how far right and down of each place ``moving`` shows it, px.

    Both are light or its logarithm and lie on each other but for small shifts. None when too few
    patches show anything.
    """
    patch = max(24, round(PATCH_MM * px_per_mm))
    reach = max(4, round(REACH_MM * px_per_mm))
    if min(fixed.shape) < patch + 2 * reach + 2:
        return None
    seen = matched(fixed, moving, np.eye(3), patch, reach, patch // 2)
    if len(seen.points) < FEWEST_PATCHES:
        return None
    grid = grid_of(fixed.shape, NODE_MM * px_per_mm, MOST_NODES)
    node_mm = max(fixed.shape) / px_per_mm / (max(grid) - 1)
    # A patch counts 1 in all, a half each way.
    information = seen.information / np.median(np.trace(seen.information, axis1=1, axis2=2))
    stiff = stiffness(WAVE_MM, node_mm, 0.5 * (2 * node_mm / PATCH_MM) ** 2)
    nodes = bent_to(seen.points, seen.shift, information, fixed.shape, grid, stiff)
    rows, columns = fixed.shape
    return np.stack([everywhere(nodes[:, :, axis], (rows, columns)) for axis in (0, 1)], axis=2)
