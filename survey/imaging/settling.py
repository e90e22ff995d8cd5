"""Where places of a sheet lie in a second picture, when it does not lie quite as flat as before.

What patches say of their shifts (``patches.matched``) is carried over the whole sheet by a thin
plate: as near to each patch as it is sure, and otherwise as little bent as may be.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import spsolve

from survey.imaging.opened import Plane
from survey.imaging.patches import TUKEY, Matches, matched

# A patch is as broad as this, and looked for within the reach.
PATCH_MM = 9.0
REACH_MM = 2.0
# The plate is known at places so far apart, and follows what bends over some five centimetres.
NODE_MM = 6.0
STIFF = 5.0
FEWEST_PATCHES = 8
ROUNDS = 5

Field = NDArray[np.float64]


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
    rows, columns = fixed.shape
    step = NODE_MM * px_per_mm
    grid = max(3, round(rows / step) + 1), max(3, round(columns / step) + 1)
    nodes = _plate(seen, fixed.shape, grid)
    # The outermost nodes lie on the edges.
    return np.stack([_stretched(nodes[:, :, axis], (rows, columns)) for axis in (0, 1)], axis=2)


def _stretched(nodes: Field, shape: tuple[int, int]) -> Plane:
    """Bilinear between nodes whose outermost ones lie on the edges of ``shape``."""
    down, across = nodes.shape
    y = np.linspace(0, down - 1, shape[0])
    x = np.linspace(0, across - 1, shape[1])
    low_y = np.minimum(y.astype(int), down - 2)
    low_x = np.minimum(x.astype(int), across - 2)
    part_y = (y - low_y)[:, None]
    part_x = (x - low_x)[None, :]
    rows = nodes[low_y] * (1 - part_y) + nodes[low_y + 1] * part_y
    whole = rows[:, low_x] * (1 - part_x) + rows[:, low_x + 1] * part_x
    return np.asarray(whole, dtype=np.float32)


def _plate(seen: Matches, shape: tuple[int, ...], grid: tuple[int, int]) -> Field:
    """(down, across, 2) shifts at the nodes."""
    down, across = grid
    count = down * across
    # The information of patches that hardly show anything is not to be taken for more than it is.
    information = seen.information / np.median(np.trace(seen.information, axis1=1, axis2=2))
    at = _between(seen.points, shape, grid)
    design = sparse.block_diag([at, at]).tocsr()
    bent = STIFF * _bending(down, across)
    stiff = sparse.block_diag([bent, bent]) + 1e-6 * sparse.identity(2 * count)
    goal = seen.shift.T.ravel()
    weight = np.ones(len(seen.points))
    nodes = np.zeros(2 * count)
    for _ in range(ROUNDS):
        strong = information * weight[:, None, None]
        told = sparse.bmat(
            [[sparse.diags(strong[:, one, other]) for other in (0, 1)] for one in (0, 1)]
        )
        nodes = spsolve((design.T @ told @ design + stiff).tocsc(), design.T @ (told @ goal))
        rest = (goal - design @ nodes).reshape(2, -1).T
        squared = np.einsum("ni,nij,nj->n", rest, information, rest)
        usual = max(float(np.median(squared)) / 1.386, 1e-12)  # of two normal errors
        weight = np.maximum(1 - squared / (usual * TUKEY**2), 0) ** 2
    return np.moveaxis(nodes.reshape(2, down, across), 0, 2)


def _between(points: Field, shape: tuple[int, ...], grid: tuple[int, int]) -> sparse.csr_matrix:
    """(n, nodes): the weights of the four nodes about each point."""
    down, across = grid
    rows, columns = shape[:2]
    x = np.clip(points[:, 0] / columns, 0, 1) * (across - 1)
    y = np.clip(points[:, 1] / rows, 0, 1) * (down - 1)
    left, top = np.minimum(x.astype(int), across - 2), np.minimum(y.astype(int), down - 2)
    x, y = x - left, y - top
    one = np.arange(len(points))
    places = [(top + j) * across + left + i for j in (0, 1) for i in (0, 1)]
    weights = [(y if j else 1 - y) * (x if i else 1 - x) for j in (0, 1) for i in (0, 1)]
    return sparse.csr_matrix(
        (np.concatenate(weights), (np.tile(one, 4), np.concatenate(places))),
        shape=(len(points), down * across),
    )


def _bending(down: int, across: int) -> sparse.csr_matrix:
    """The quadratic form of second differences along rows, along columns and across both."""

    def second(count: int) -> sparse.csr_matrix:
        return sparse.diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(count - 2, count)).tocsr()

    def first(count: int) -> sparse.csr_matrix:
        return sparse.diags([-1.0, 1.0], [0, 1], shape=(count - 1, count)).tocsr()

    along_x = sparse.kron(sparse.identity(down), second(across))
    along_y = sparse.kron(second(down), sparse.identity(across))
    twist = sparse.kron(first(down), first(across))
    return (along_x.T @ along_x + along_y.T @ along_y + 2 * twist.T @ twist).tocsr()
