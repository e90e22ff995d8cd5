"""A head in profile, in the manner of a studio study."""

from collections.abc import Callable

import numpy as np

from survey.demo.sheet.geometry import Point, curve
from survey.demo.sheet.pen import Page

Place = Callable[[float, float], Point]

# The outline of a face in profile, from hairline to the pit of the neck: (forward, down) in
# heights of the head. Our own, set by eye.
FACE = (
    (0.30, 0.10), (0.375, 0.20), (0.40, 0.31), (0.385, 0.375), (0.42, 0.45), (0.475, 0.545),
    (0.463, 0.58), (0.405, 0.597), (0.402, 0.625), (0.436, 0.66), (0.415, 0.69), (0.432, 0.722),
    (0.405, 0.75), (0.395, 0.785), (0.412, 0.83), (0.385, 0.885), (0.315, 0.905), (0.215, 0.885),
    (0.145, 0.90), (0.125, 1.0), (0.15, 1.13), (0.22, 1.2),
)  # fmt: skip
SKULL = (
    (0.30, 0.10), (0.20, 0.015), (0.03, -0.035), (-0.16, 0.0), (-0.31, 0.12), (-0.36, 0.29),
    (-0.325, 0.48), (-0.23, 0.60), (-0.215, 0.74), (-0.25, 0.90), (-0.32, 1.04), (-0.47, 1.14),
)  # fmt: skip


def head(page: Page) -> None:
    h = page.aspect
    size = min(0.62 * h, 0.72)
    facing = int(page.random.choice([-1, 1]))
    vary = page.random.normal(0, 0.006, (len(FACE), 2))

    def at(forward: float, down: float) -> Point:
        return 0.5 + facing * (forward - 0.02) * size, (h - 1.2 * size) / 2 + (down + 0.06) * size

    face = [(f + dx, d + dy) for (f, d), (dx, dy) in zip(FACE, vary, strict=True)]
    skin = [*curve([at(*p) for p in face], 8), *curve([at(*p) for p in reversed(SKULL)], 8)]
    page.tint(skin, "rose", 0.16)
    shading(page, at, facing)
    page.line(curve([at(*p) for p in face], 8), 1.1, 0.95, 0.35)
    page.line(curve([at(*p) for p in SKULL[7:]], 8), 1.0, 0.8, 0.4)
    eye(page, at)
    mouth_and_nostril(page, at)
    ear(page, at)
    hair(page, at)
    collar(page, at)


def eye(page: Page, at: Place) -> None:
    page.curve(at(0.27, 0.405), at(0.315, 0.375), at(0.352, 0.388), weight=1.2, pressure=1.0)
    page.curve(at(0.275, 0.41), at(0.31, 0.43), at(0.343, 0.425), pressure=0.75)
    page.curve(at(0.345, 0.388), at(0.352, 0.407), at(0.343, 0.425), pressure=0.8)
    for reach in (0.002, 0.006, 0.010):
        iris = [
            at(0.334 + 0.7 * reach * np.cos(t), 0.404 + 1.6 * reach * np.sin(t))
            for t in np.linspace(0, 6.28, 10)
        ]
        page.line(iris, 0.8, 0.9, 0.1)
    page.curve(at(0.265, 0.375), at(0.31, 0.348), at(0.357, 0.362), pressure=0.6)
    for drop in (0.0, 0.008, 0.016):
        page.curve(
            at(0.245, 0.335 + drop), at(0.31, 0.298 + drop), at(0.378, 0.322 + drop), pressure=0.8
        )


def mouth_and_nostril(page: Page, at: Place) -> None:
    page.curve(at(0.415, 0.69), at(0.375, 0.692), at(0.325, 0.702), weight=1.1, pressure=0.95)
    page.shade(
        [at(0.42, 0.692), at(0.345, 0.70), at(0.37, 0.725), at(0.425, 0.725)], 0.3, 10, "rose"
    )
    page.shade([at(0.43, 0.66), at(0.35, 0.69), at(0.412, 0.69)], 0.4, 10, "rose")
    page.curve(at(0.405, 0.58), at(0.422, 0.572), at(0.435, 0.583), weight=1.2, pressure=1.0)
    page.curve(at(0.385, 0.535), at(0.365, 0.57), at(0.395, 0.597), pressure=0.75)


def ear(page: Page, at: Place) -> None:
    rim = [
        (-0.015, 0.42),
        (-0.03, 0.37),
        (0.01, 0.345),
        (0.05, 0.375),
        (0.04, 0.45),
        (0.02, 0.50),
        (0.012, 0.55),
        (-0.012, 0.545),
        (-0.015, 0.48),
    ]
    outline = curve([at(-f, d + 0.02) for f, d in rim], 6)
    page.hide(outline)
    page.line(outline, 1.0, 0.85, 0.3)
    page.curve(at(-0.035, 0.41), at(-0.01, 0.385), at(0.012, 0.43), at(-0.01, 0.49), pressure=0.7)
    page.shade([at(-0.03, 0.42), at(0.0, 0.41), at(0.0, 0.49), at(-0.02, 0.5)], 0.45, 60, "rose")


def shading(page: Page, at: Place, facing: int) -> None:
    slant = 55 if facing > 0 else 125
    cheek = [
        at(0.26, 0.50),
        at(0.12, 0.44),
        at(0.04, 0.60),
        at(0.06, 0.80),
        at(0.20, 0.88),
        at(0.30, 0.80),
        at(0.25, 0.66),
    ]
    jaw = [
        at(0.34, 0.90),
        at(0.21, 0.885),
        at(0.145, 0.90),
        at(0.02, 0.86),
        at(-0.05, 0.66),
        at(0.02, 0.62),
        at(0.10, 0.78),
        at(0.25, 0.86),
    ]
    neck = [
        at(0.145, 0.90),
        at(0.10, 0.97),
        at(-0.02, 1.08),
        at(-0.10, 1.02),
        at(-0.08, 0.80),
        at(-0.03, 0.74),
    ]
    nape = [
        at(-0.215, 0.70),
        at(-0.24, 0.88),
        at(-0.31, 1.02),
        at(-0.22, 1.05),
        at(-0.16, 0.9),
        at(-0.15, 0.72),
    ]
    temple = [at(0.24, 0.30), at(0.16, 0.22), at(0.10, 0.36), at(0.20, 0.42)]
    socket = [at(0.36, 0.37), at(0.30, 0.35), at(0.25, 0.38), at(0.26, 0.41), at(0.34, 0.385)]
    for shape, tone in (
        (cheek, 0.17),
        (jaw, 0.26),
        (neck, 0.34),
        (nape, 0.3),
        (temple, 0.18),
        (socket, 0.35),
    ):
        page.shade(curve([*shape, shape[0]], 6), tone, slant, "rose")
    page.shade(
        curve([at(0.44, 0.50), at(0.40, 0.47), at(0.375, 0.56), at(0.40, 0.595)], 6),
        0.22,
        slant,
        "rose",
    )


def hair(page: Page, at: Place) -> None:
    """Locks that leave the brow and temple and gather at the nape."""
    front = [(0.30, 0.10), (0.24, 0.17), (0.15, 0.22), (0.10, 0.32), (0.055, 0.36)]
    mass = [
        at(*p) for p in (*front, (-0.06, 0.36), (-0.07, 0.56), (-0.20, 0.66), *reversed(SKULL[:8]))
    ]
    page.tint(mass, "umber", 0.5)
    page.shade(mass, 0.14, 20, "umber")
    for _ in range(120):
        share = page.random.uniform(0, 1)
        start = (
            0.30 - 0.42 * share + page.random.normal(0, 0.02),
            0.09 - 0.11 * np.sin(3.1 * share) + page.random.uniform(0, 0.22) * (1 - 0.4 * share),
        )
        nape = (-0.235 + page.random.normal(0, 0.035), 0.60 + page.random.normal(0, 0.045))
        bulge = page.random.uniform(0.0, 0.9)
        middle = (
            (start[0] + nape[0]) / 2 - 0.16 * bulge,
            (start[1] + nape[1]) / 2 - 0.10 * bulge + 0.03,
        )
        page.curve(
            at(*start),
            at(*middle),
            at(*nape),
            weight=0.9,
            pressure=page.random.uniform(0.35, 0.85),
            shake=0.8,
        )
    knot = (-0.30, 0.60)
    for radius in (0.085, 0.065, 0.045, 0.025):
        ring = [
            at(knot[0] + radius * np.cos(t), knot[1] + 0.9 * radius * np.sin(t))
            for t in np.linspace(0.5, 6.0, 18)
        ]
        page.line(ring, 1.0, 0.75, 0.6)
    page.shade(
        [
            at(knot[0] + 0.08 * np.cos(t), knot[1] + 0.07 * np.sin(t))
            for t in np.linspace(0, 6.28, 16)
        ],
        0.45,
        30,
        "umber",
    )
    page.curve(
        at(0.29, 0.15), at(0.10, 0.12), at(-0.16, 0.22), at(-0.33, 0.42), weight=1.8, pressure=0.9
    )
    for _ in range(14):
        start = (0.27 + page.random.normal(0, 0.015), 0.13 + page.random.uniform(0, 0.12))
        page.curve(
            at(*start),
            at(start[0] - 0.05, start[1] + 0.07),
            at(start[0] - 0.10, start[1] + 0.08),
            weight=0.8,
            pressure=0.6,
        )


def collar(page: Page, at: Place) -> None:
    page.curve(at(0.22, 1.2), at(0.0, 1.17), at(-0.28, 1.05), weight=1.2, pressure=0.8)
    page.curve(at(0.30, 1.24), at(0.02, 1.225), at(-0.36, 1.08), pressure=0.7)
    for share in np.linspace(0.05, 0.9, 9):
        u = 0.25 - 0.62 * share
        page.curve(
            at(u, 1.22 - 0.12 * share),
            at(u - 0.03, 1.29 - 0.10 * share),
            at(u - 0.07, 1.36 - 0.10 * share),
            pressure=0.5,
        )
