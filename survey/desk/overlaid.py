"""One sheet laid over another by their chain lines, as a drawing in the first one's millimetres."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from survey.reports.drawing import through

Matrix = NDArray[np.float64]

# Beyond this many times likelier no number says more.
MOST_TIMES = 1e6


@dataclass(frozen=True)
class Laid:
    """One sheet in the drawing.

    address        of its photograph; "" when there is none to show
    width, height  of the photograph, px
    transform      SVG's six numbers: these pixels to the drawing's mm
    outline        the sheet's edge, as SVG's points
    lines          the chain lines as (x1, y1, x2, y2)
    """

    address: str
    width: float
    height: float
    transform: str
    outline: str
    lines: list[tuple[float, float, float, float]]


@dataclass(frozen=True)
class Sheet:
    """What is drawn of a sheet.

    result      its paper reading, as it counts
    homography  nine numbers, pixels of its photograph to its mm; None without a photograph
    """

    result: Mapping[str, Any]
    address: str
    size_px: tuple[int, int]
    homography: Sequence[float] | None


def laid(sheet: Sheet, onto: Matrix) -> Laid:
    """A sheet drawn through ``onto``: 3 × 3, its own mm to the drawing's mm."""
    width, height = sheet.size_px
    transform = ""
    if sheet.homography is not None:
        transform = " ".join(f"{one:.6g}" for one in _affine(sheet.homography, sheet.size_px, onto))
    across, down = sheet.result["width_mm"], sheet.result["height_mm"]
    corners = [(0.0, 0.0), (across, 0.0), (across, down), (0.0, down)]
    numbers = onto.flatten().tolist()
    return Laid(
        sheet.address if transform else "",
        width,
        height,
        transform,
        " ".join(f"{x:.2f},{y:.2f}" for x, y in (through(numbers, one) for one in corners)),
        [
            (*through(numbers, one["points"][0]), *through(numbers, one["points"][1]))
            for one in sheet.result["overlay"]
            if one["kind"] == "chain"
        ],
    )


def onto_first(mine: Mapping[str, Any], other: Mapping[str, Any], overlap: Any) -> Matrix:
    """The other sheet's mm to the first one's, by imaging's ``Overlap``.

    Along the chain lines, where watermarks do not tell, the middles are put on each other.
    """
    own, its = _axes(mine), _axes(other)
    along = overlap.along_mm
    if along is None:
        along = (own @ _middle(mine))[1] - overlap.along_sign * (its @ _middle(other))[1]
    turn = np.diag([overlap.sign, overlap.along_sign]) @ its
    matrix = np.eye(3)
    # The axes are at right angles and of length one: their transpose leads back.
    matrix[:2, :2] = own.T @ turn
    matrix[:2, 2] = own.T @ np.array([overlap.offset_mm, along])
    return matrix


def likelihood_in_words(log_ratio: float) -> str:
    """``About 40 times likelier from one mould than from two picked at random``."""
    times = math.exp(min(abs(log_ratio), math.log(MOST_TIMES) + 1))
    if times < 1.5:
        return "As likely from one mould as from two picked at random"
    if times > MOST_TIMES:
        how = f"More than {MOST_TIMES:,.0f} times"
    elif times < 10:
        how = f"About {times:.1f} times"
    else:
        digits = 10 ** (math.floor(math.log10(times)) - 1)
        how = f"About {round(times / digits) * digits:,.0f} times"
    if log_ratio > 0:
        return f"{how} likelier from one mould than from two picked at random"
    return f"{how} likelier from two moulds than from one"


def _axes(result: Mapping[str, Any]) -> Matrix:
    """(2, 2): across the chain lines, and along them, as rows."""
    angle = math.radians(result["chain_angle_deg"]["value"])
    return np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])


def _middle(result: Mapping[str, Any]) -> Matrix:
    return np.array([result["width_mm"] / 2, result["height_mm"] / 2])


def _affine(
    homography: Sequence[float], size: tuple[int, int], onto: Matrix
) -> tuple[float, float, float, float, float, float]:
    """The photograph as SVG can place it: right at three points about its middle. What a slanting
    camera bends stays bent, so the lines, and not the picture, are what is compared."""
    whole = onto @ np.asarray(homography, dtype=np.float64).reshape(3, 3)
    numbers = whole.flatten().tolist()
    width, height = size
    corner, right, down = (
        through(numbers, (x * width, y * height))
        for x, y in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75))
    )
    a, b = ((right[axis] - corner[axis]) / (0.5 * width) for axis in (0, 1))
    c, d = ((down[axis] - corner[axis]) / (0.5 * height) for axis in (0, 1))
    return (
        a,
        b,
        c,
        d,
        corner[0] - 0.25 * (a * width + c * height),
        corner[1] - 0.25 * (b * width + d * height),
    )
