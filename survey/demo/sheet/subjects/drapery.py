"""A standing figure in heavy cloth, mostly folds: the usual exercise of a drawing school."""

import math
from collections.abc import Callable

import numpy as np

from survey.demo.sheet.geometry import Point, curve
from survey.demo.sheet.pen import Page

Place = Callable[[float, float], Point]


def draped_figure(page: Page) -> None:
    h = page.aspect
    size = min(h * 0.84, 1.25)
    top = (h - size) / 2

    def at(u: float, v: float) -> Point:
        return 0.5 + u * size, top + v * size

    turned = int(page.random.choice([-1, 1]))
    left = [
        at(-0.07, 0.19),
        at(-0.155, 0.27),
        at(-0.165, 0.45),
        at(-0.15, 0.62),
        at(-0.20, 0.80),
        at(-0.245, 0.975),
    ]
    right = [
        at(0.07, 0.19),
        at(0.15, 0.26),
        at(0.19, 0.40),
        at(0.165, 0.58),
        at(0.21, 0.78),
        at(0.27, 0.965),
    ]
    hem = [at(-0.245, 0.975), at(-0.12, 1.0), at(0.0, 0.985), at(0.13, 1.0), at(0.27, 0.965)]
    robe = [*curve(left), *curve(hem), *curve(right)[::-1]]
    page.tint(robe, "blue", 0.4)
    head_and_hair(page, at, turned)
    for edge in (left, right, hem):
        page.curve(*edge, weight=1.4, pressure=1.0)
    page.curve(at(-0.07, 0.19), at(0.0, 0.235), at(0.07, 0.19), pressure=0.9)
    folds(page, at, turned)
    sleeve(page, at, turned)
    floor_shadow = [at(0.10, 0.985), at(0.30, 0.955), at(0.52, 0.99), at(0.30, 1.015)]
    page.shade(floor_shadow, 0.42, 6, "umber")


def head_and_hair(page: Page, at: Place, turned: int) -> None:
    turn = np.linspace(0, 2 * math.pi, 30)
    hair = [at(0.063 * math.cos(t) - 0.012 * turned, 0.09 + 0.068 * math.sin(t)) for t in turn]
    page.line(hair, 1.0, 0.8)
    page.shade(hair, 0.5, 60, "umber")
    cheek = curve(
        [
            at(0.008, 0.065),
            at(0.045 * turned, 0.07),
            at(0.06 * turned, 0.11),
            at(0.035 * turned, 0.16),
            at(-0.01 * turned, 0.17),
            at(-0.03 * turned, 0.12),
        ],
        8,
    )
    page.hide(cheek)
    page.line(cheek, 1.0, 0.85)
    page.tint(cheek, "rose", 0.2)
    for v, reach in ((0.103, 0.018), (0.145, 0.013)):
        page.curve(
            at(0.022 * turned, v),
            at(0.03 * turned, v + 0.003),
            at((0.022 + reach) * turned, v),
            pressure=0.8,
        )
    page.curve(
        at(0.042 * turned, 0.105),
        at(0.056 * turned, 0.128),
        at(0.044 * turned, 0.131),
        pressure=0.8,
    )
    for side in (-1, 1):
        page.curve(
            at(0.028 * side, 0.16), at(0.03 * side, 0.185), at(0.06 * side, 0.198), pressure=0.85
        )
    page.shade([at(-0.03, 0.155), at(0.03, 0.165), at(0.03, 0.2), at(-0.03, 0.2)], 0.35, 60, "rose")


def folds(page: Page, at: Place, turned: int) -> None:
    """Long folds from girdle to hem; each has a lit ridge and a shaded trough beside it."""
    starts = np.linspace(-0.11, 0.12, 8) + page.random.normal(0, 0.009, 8)
    ends = np.linspace(-0.205, 0.215, 8) + page.random.normal(0, 0.016, 8)
    for index, (start, end) in enumerate(zip(starts, ends, strict=True)):
        sway = page.random.normal(0, 0.018) + 0.02 * turned
        begin = page.random.uniform(0.27, 0.42)
        controls = [
            at(start, begin),
            at((start + end) / 2 + sway, 0.58),
            at(end * 0.92, 0.8),
            at(end, 0.972),
        ]
        ridge = curve(controls, 10)
        page.line(ridge, 1.1, 0.8)
        swelling = np.sin(np.linspace(0.15, 2.6, len(ridge)))
        breadth = swelling * page.random.uniform(0.022, 0.05)
        for share, tone in ((1.0, 0.16), (0.62, 0.24), (0.3, 0.4)):
            trough = ridge + np.column_stack([share * breadth, np.zeros(len(ridge))])
            page.shade([*ridge, *trough[::-1]], tone, 72 + 8 * (index % 3), "blue")
        if index % 2:
            foot = ridge[-12:] + np.array([0.5 * float(breadth[-12]), 0.0])
            page.line(foot, 1.0, 0.7)
    for share in np.linspace(0.1, 0.9, 6):
        x = -0.13 + 0.28 * share
        page.curve(
            at(x, 0.26), at(x + 0.015, 0.30), at(x + 0.01, 0.35 + 0.03 * share), pressure=0.5
        )
    half = [
        at(0.08, 0.25),
        at(0.15, 0.27),
        at(0.185, 0.40),
        at(0.17, 0.58),
        at(0.21, 0.78),
        at(0.26, 0.96),
        at(0.15, 0.985),
        at(0.11, 0.6),
    ]
    page.shade(half, 0.2, 62, "blue")


def sleeve(page: Page, at: Place, turned: int) -> None:
    arm = [
        at(0.12 * turned, 0.24),
        at(0.185 * turned, 0.36),
        at(0.16 * turned, 0.44),
        at(0.0, 0.46),
        at(-0.02 * turned, 0.425),
        at(0.06 * turned, 0.38),
    ]
    outline = curve([*arm, arm[0]], 8)
    page.hide(outline)
    page.tint(outline, "blue", 0.36)
    page.line(outline, 1.2, 0.95)
    for share in (0.25, 0.45, 0.65):
        u = 0.14 - 0.12 * share
        page.curve(
            at(u * turned, 0.36 + 0.05 * share),
            at((u - 0.01) * turned, 0.41),
            at((u - 0.03) * turned, 0.455),
            pressure=0.75,
        )
    page.shade(
        [
            at(0.16 * turned, 0.42),
            at(0.02 * turned, 0.435),
            at(0.0, 0.46),
            at(0.15 * turned, 0.445),
        ],
        0.5,
        20,
        "blue",
    )
    hand = curve(
        [
            at(-0.015 * turned, 0.425),
            at(-0.05 * turned, 0.42),
            at(-0.065 * turned, 0.44),
            at(-0.04 * turned, 0.458),
            at(0.0, 0.458),
        ],
        6,
    )
    page.hide(hand)
    page.line(hand, 0.9, 0.85)
    for drop in (0.43, 0.439, 0.447):
        page.curve(
            at(-0.03 * turned, drop),
            at(-0.05 * turned, drop + 0.002),
            at(-0.066 * turned, drop + 0.006),
            weight=0.8,
            pressure=0.6,
        )
