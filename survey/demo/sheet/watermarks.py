"""Wire figures for the mould: our own, of the common kinds."""

import math
from collections.abc import Sequence

import numpy as np

from survey.demo.sheet.geometry import Point, Points, curve, rectangle
from survey.demo.sheet.pen import Strokes
from survey.demo.sheet.recipe import Watermark
from survey.demo.sheet.structure import Sheet

Wire = Sequence[Point]
WIRE_MM = 0.85


def _arc(
    cx: float, cy: float, radius: float, start_deg: float, end_deg: float, squash: float = 1.0
) -> Wire:
    turn = np.radians(np.linspace(start_deg, end_deg, 40))
    return [(cx + radius * math.cos(t), cy + squash * radius * math.sin(t)) for t in turn]


def _star(cx: float, cy: float, radius: float, points: int = 6) -> Wire:
    turn = [math.pi * k / points - math.pi / 2 for k in range(2 * points + 1)]
    return [
        (
            cx + radius * (1 if k % 2 == 0 else 0.45) * math.cos(t),
            cy + radius * (1 if k % 2 == 0 else 0.45) * math.sin(t),
        )
        for k, t in enumerate(turn)
    ]


def _smooth(*points: Point) -> Wire:
    return [(float(x), float(y)) for x, y in curve(points, 10)]


# Each motif within a height of 1 about its middle: x right, y down.
MOTIFS: dict[str, list[Wire]] = {
    "anchor in a circle": [
        _arc(0, 0, 0.5, 0, 360),
        [(0, -0.28), (0, 0.33)],
        _arc(0, -0.34, 0.06, 0, 360),
        [(-0.13, -0.18), (0.13, -0.18)],
        _smooth((-0.27, 0.08), (-0.2, 0.27), (0, 0.34), (0.2, 0.27), (0.27, 0.08)),
        [(-0.33, 0.14), (-0.27, 0.08), (-0.21, 0.13)],
        [(0.33, 0.14), (0.27, 0.08), (0.21, 0.13)],
    ],
    "three hills with a star": [
        _smooth((-0.38, 0.48), (-0.37, 0.28), (-0.22, 0.2), (-0.08, 0.28), (-0.07, 0.48)),
        _smooth((0.07, 0.48), (0.08, 0.28), (0.22, 0.2), (0.37, 0.28), (0.38, 0.48)),
        _smooth((-0.15, 0.22), (-0.14, 0.02), (0, -0.06), (0.14, 0.02), (0.15, 0.22)),
        [(-0.4, 0.48), (0.4, 0.48)],
        [(0, -0.07), (0, -0.24)],
        _star(0, -0.37, 0.13),
    ],
    "crowned shield": [
        [(-0.3, -0.1), (0.3, -0.1), (0.3, 0.2)],
        _smooth((0.3, 0.2), (0.22, 0.38), (0, 0.5)),
        _smooth((0, 0.5), (-0.22, 0.38), (-0.3, 0.2)),
        [(-0.3, 0.2), (-0.3, -0.1)],
        [(-0.3, 0.22), (0.3, -0.02)],
        [(-0.3, 0.1), (0.16, -0.1)],
        [(-0.26, -0.16), (0.26, -0.16)],
        [
            (-0.26, -0.16),
            (-0.3, -0.4),
            (-0.13, -0.26),
            (0, -0.46),
            (0.13, -0.26),
            (0.3, -0.4),
            (0.26, -0.16),
        ],
        _arc(0, -0.49, 0.035, 0, 360),
    ],
    "bell": [
        _smooth(
            (-0.34, 0.32),
            (-0.22, 0.16),
            (-0.18, -0.15),
            (0, -0.32),
            (0.18, -0.15),
            (0.22, 0.16),
            (0.34, 0.32),
        ),
        [(-0.36, 0.32), (0.36, 0.32)],
        _arc(0, 0.38, 0.07, 0, 180),
        _arc(0, -0.4, 0.08, 0, 360),
        [(-0.24, 0.2), (0.24, 0.2)],
    ],
    "horn on a cord": [
        _smooth((-0.36, 0.02), (-0.2, 0.26), (0.05, 0.3), (0.25, 0.14), (0.32, -0.04)),
        _smooth((-0.4, 0.06), (-0.26, 0.4), (0.08, 0.48), (0.34, 0.26), (0.42, 0.0)),
        [(0.30, -0.05), (0.44, 0.0)],
        [(-0.36, 0.02), (-0.41, 0.06)],
        _smooth((-0.2, 0.27), (-0.16, -0.05), (0, -0.3), (0.12, -0.06), (0.24, 0.15)),
        _arc(0, -0.38, 0.09, 0, 360),
    ],
    "letters in a frame": [
        (*rectangle(-0.62, -0.32, 0.62, 0.32), (-0.62, -0.32)),
        [(-0.46, 0.2), (-0.46, -0.2), (-0.2, -0.2)],
        [(-0.46, -0.01), (-0.26, -0.01)],
        [(-0.05, -0.2), (-0.05, 0.2), (0.16, 0.2)],
        [(0.3, 0.2), (0.41, -0.2), (0.52, 0.2)],
        [(0.35, 0.05), (0.48, 0.05)],
    ],
}


def wires(mark: Watermark) -> list[Points]:
    """The wires of a watermark on the sheet, mm, as seen from the recto."""
    if mark.motif not in MOTIFS:
        raise ValueError(f"No watermark is called {mark.motif}: use one of {', '.join(MOTIFS)}.")
    return [
        tuple((mark.x_mm + x * mark.height_mm, mark.y_mm + y * mark.height_mm) for x, y in wire)
        for wire in MOTIFS[mark.motif]
    ]


def sew(sheet: Sheet) -> None:
    """Thin the paper where the wires of the recipe's watermark lay under the pulp."""
    recipe = sheet.recipe
    if recipe.watermark is None:
        return
    strokes = Strokes(sheet.shape, sheet.px_per_mm)
    for wire in wires(recipe.watermark):
        strokes.add(wire, WIRE_MM)
    laid = strokes.laid()
    sheet.thickness *= 1 - 0.24 * laid
    other = "recto" if recipe.mould_side == "verso" else "verso"
    sheet.relief[recipe.mould_side] -= 0.011 * recipe.relief * laid
    sheet.relief[other] -= 0.006 * recipe.relief * laid
