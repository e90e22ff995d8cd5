"""A thin plate over the sheet: what is known here and there, carried everywhere without a kink.

It lies as near to each value as that is sure, and is otherwise as little bent as may be. Values
that contradict the others lose their say (Tukey's biweight).
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import spsolve

from survey.imaging.opened import Plane
from survey.imaging.patches import TUKEY

ROUNDS = 5

Field = NDArray[np.float64]


def grid_of(shape: tuple[int, ...], step_px: float, most: int) -> tuple[int, int]:
    """How many nodes down and across; the outermost ones lie on the edges."""
    rows, columns = (min(most, max(3, round(side / step_px) + 1)) for side in shape[:2])
    return rows, columns


def bent_to(
    points: Field,
    values: Field,
    information: Field,
    shape: tuple[int, ...],
    grid: tuple[int, int],
    stiff: float,
) -> Field:
    """(down, across, k): the plate at its nodes.

    points       (n, 2) x and y, px of ``shape``
    values       (n, k) what is known there
    information  (n, k, k) inverse covariance of each, about 1
    stiff        how much bending counts against them
    """
    down, across = grid
    parts = values.shape[1]
    at = _between(points, shape, grid)
    design = sparse.block_diag([at] * parts).tocsr()
    still = sparse.block_diag([stiff * _bending(down, across)] * parts)
    still = still + 1e-6 * sparse.identity(parts * down * across)
    goal = values.T.ravel()
    weight = np.ones(len(points))
    nodes = np.zeros(parts * down * across)
    for _ in range(ROUNDS):
        strong = information * weight[:, None, None]
        told = sparse.bmat(
            [
                [sparse.diags(strong[:, one, other]) for other in range(parts)]
                for one in range(parts)
            ]
        )
        nodes = spsolve((design.T @ told @ design + still).tocsc(), design.T @ (told @ goal))
        rest = (goal - design @ nodes).reshape(parts, -1).T
        squared = np.einsum("ni,nij,nj->n", rest, information, rest)
        # The median of the squares of normal errors in one dimension, and in two.
        usual = max(float(np.median(squared)) / (0.455 if parts == 1 else 1.386), 1e-12)
        weight = np.maximum(1 - squared / (usual * TUKEY**2), 0) ** 2
    return np.moveaxis(nodes.reshape(parts, down, across), 0, 2)


def everywhere(nodes: Field, shape: tuple[int, int]) -> Plane:
    """(rows, columns): straight between the nodes (down, across)."""
    down, across = nodes.shape
    top, low = _place(np.linspace(0, down - 1, shape[0]), down)
    left, right = _place(np.linspace(0, across - 1, shape[1]), across)
    rows = nodes[top] * (1 - low[:, None]) + nodes[top + 1] * low[:, None]
    whole = rows[:, left] * (1 - right) + rows[:, left + 1] * right
    return np.asarray(whole, dtype=np.float32)


def _place(at: Field, count: int) -> tuple[NDArray[np.int64], Field]:
    """The node before each place, and how far on from it to the next, 0…1."""
    before = np.minimum(at.astype(np.int64), count - 2)
    return before, at - before


def _between(points: Field, shape: tuple[int, ...], grid: tuple[int, int]) -> sparse.csr_matrix:
    """(n, nodes): the weights of the four nodes about each point."""
    down, across = grid
    rows, columns = shape[:2]
    left, right = _place(np.clip(points[:, 0] / columns, 0, 1) * (across - 1), across)
    top, low = _place(np.clip(points[:, 1] / rows, 0, 1) * (down - 1), down)
    corners = [(j, i) for j in (0, 1) for i in (0, 1)]
    places = [(top + j) * across + left + i for j, i in corners]
    weights = [(low if j else 1 - low) * (right if i else 1 - right) for j, i in corners]
    return sparse.csr_matrix(
        (
            np.concatenate(weights),
            (np.tile(np.arange(len(points)), len(corners)), np.concatenate(places)),
        ),
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


def stiffness(shortest_wave_mm: float, node_mm: float, values_per_node: float) -> float:
    """How stiff a plate must be to give way to waves longer than this, and not to shorter ones."""
    return values_per_node * (shortest_wave_mm / (2 * math.pi * node_mm)) ** 4
