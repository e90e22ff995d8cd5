"""A flowering plant laid out for study: stem, leaves with their veins, blossom, roots."""

import math

import numpy as np

from survey.demo.sheet.geometry import Point, curve
from survey.demo.sheet.pen import Page
from survey.demo.sheet.subjects.script import caption


def flowering_plant(page: Page) -> None:
    h = page.aspect
    lean = page.random.uniform(-0.10, 0.10)
    stem = curve(
        [
            (0.5, 0.88 * h),
            (0.5 - lean, 0.62 * h),
            (0.5 + 0.4 * lean, 0.4 * h),
            (0.5 + lean, 0.2 * h),
        ]
    )
    petal = str(page.random.choice(["rose", "violet", "ochre", "red", "blue"]))
    roots(page, (0.5, 0.88 * h))
    for share, side in zip(np.linspace(0.12, 0.74, 7), (1, -1, 1, -1, 1, -1, 1), strict=True):
        at = stem[int(share * (len(stem) - 1))]
        reach = 0.30 * (1 - 0.6 * share) * page.random.uniform(0.85, 1.1)
        leaf(page, (float(at[0]), float(at[1])), side, reach)
    for offset in (-0.006, 0.006):
        page.line(stem + np.array([offset, 0.0]), 1.0, 0.8, 0.3)
    half = np.array([0.006, 0.0])
    page.tint(np.vstack([stem + half, stem[::-1] - half]), "green", 0.7)
    bud(page, stem, petal)
    blossom(page, (float(stem[-1][0]), float(stem[-1][1])), 0.125, petal)
    detail(page, (0.16, 0.86 * h), petal)
    caption(page, 0.5, 0.96 * h, words=2)


def leaf(page: Page, foot: Point, side: int, reach: float) -> None:
    droop = page.random.uniform(-0.35, 0.3)
    tip = (foot[0] + side * reach, foot[1] - reach * (0.45 + droop))
    stalk = (foot[0] + side * reach * 0.18, foot[1] - reach * 0.16)
    rib = curve(
        [foot, stalk, ((foot[0] + tip[0]) / 2, (foot[1] + tip[1]) / 2 - 0.06 * reach), tip], 12
    )
    along = np.gradient(rib, axis=0)
    across = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    share = np.clip((np.linspace(0, 1, len(rib)) - 0.2) / 0.8, 0, 1)
    breadth = (0.2 * reach * np.sin(math.pi * share**0.8) ** 0.9)[:, None]
    serrate = 1 + 0.06 * (np.arange(len(rib)) % 2)[:, None]
    upper, lower = rib + across * breadth * serrate, rib - across * breadth * serrate
    outline = [*upper, *lower[::-1]]
    page.hide(outline)
    page.tint(outline, "green", 0.42)
    page.tint([*rib, *lower[::-1]], "olive", 0.32)
    page.line(rib, 0.9, 0.8, 0.3)
    page.line(upper, 0.9, 0.85, 0.4)
    page.line(lower, 1.1, 0.95, 0.4)
    for index in range(8, len(rib) - 4, 4):
        for edge in (upper, lower):
            end = rib[index] + 0.9 * (edge[min(index + 4, len(rib) - 1)] - rib[index])
            page.line(
                [rib[index], (rib[index] + end) / 2 + 0.01 * along[index], end], 0.7, 0.5, 0.2
            )
    page.shade([*rib[6:], *lower[:6:-1]], 0.3, 30 + 20 * side, "green")


def blossom(page: Page, middle: Point, size: float, pigment: str) -> None:
    count = int(page.random.integers(6, 10))
    for row, (reach, start) in enumerate(((1.0, 0.0), (0.68, 0.5))):
        for turn in (np.arange(count) + start) * 2 * math.pi / count + page.random.normal(0, 0.05):
            petal(page, middle, turn, size * reach * page.random.uniform(0.93, 1.07), pigment, row)
    heart = [
        (middle[0] + 0.2 * size * math.cos(t), middle[1] + 0.17 * size * math.sin(t))
        for t in np.linspace(0, 2 * math.pi, 20)
    ]
    page.hide(heart)
    page.outline(heart, 0.8, 0.7)
    page.tint(heart, "ochre", 0.9)
    for turn in page.random.uniform(0, 2 * math.pi, 16):
        reach = size * page.random.uniform(0.18, 0.36)
        tip = (middle[0] + reach * math.cos(turn), middle[1] + reach * math.sin(turn))
        page.line([middle, tip], 0.7, 0.5, 0.2)
        page.line([tip, (tip[0] + 0.004, tip[1])], 1.6, 1.0, 0)


def petal(page: Page, foot: Point, turn: float, reach: float, pigment: str, row: int) -> None:
    def at(along: float, across: float) -> Point:
        x = along * reach * math.cos(turn) - across * reach * math.sin(turn)
        y = along * reach * math.sin(turn) + across * reach * math.cos(turn)
        return foot[0] + x, foot[1] + 0.9 * y

    outline = curve(
        [
            at(0.1, 0),
            at(0.5, 0.22),
            at(0.85, 0.2),
            at(1, 0.02),
            at(0.88, -0.2),
            at(0.5, -0.2),
            at(0.1, 0),
        ],
        6,
    )
    page.hide(outline)
    page.tint(outline, pigment, 0.36 + 0.16 * row)
    page.line(outline, 0.9, 0.8, 0.4)
    for across in (-0.09, 0.0, 0.09):
        page.curve(
            at(0.25, across * 0.5),
            at(0.5, across),
            at(0.82, across * 1.2),
            weight=0.7,
            pressure=0.4,
        )
    page.shade(
        [at(0.12, -0.05), at(0.45, -0.16), at(0.5, 0.14), at(0.14, 0.05)],
        0.28,
        math.degrees(turn),
        pigment,
    )


def bud(page: Page, stem: np.ndarray, pigment: str) -> None:
    foot = stem[int(0.72 * (len(stem) - 1))]
    tip = (float(foot[0]) - 0.15, float(foot[1]) - 0.13)
    page.curve((float(foot[0]), float(foot[1])), (tip[0] + 0.05, tip[1] + 0.09), tip, pressure=0.8)
    for turn in (-2.2, -1.85, -1.5):
        petal(page, tip, turn, 0.075, pigment, 1)
    for side in (-1, 1):
        page.curve(
            tip,
            (tip[0] + side * 0.02, tip[1] - 0.015),
            (tip[0] + side * 0.016, tip[1] - 0.045),
            pressure=0.9,
        )


def roots(page: Page, foot: Point) -> None:
    for _ in range(16):
        lean = page.random.normal(0, 0.10)
        drop = page.random.uniform(0.02, 0.06)
        page.curve(
            foot,
            (foot[0] + lean * 0.5, foot[1] + drop * 0.5),
            (foot[0] + lean, foot[1] + drop),
            weight=0.8,
            pressure=0.6,
            shake=1.2,
        )


def detail(page: Page, at: Point, pigment: str) -> None:
    """A petal and a seed drawn apart, as such sheets have them."""
    petal(page, at, -1.4, 0.10, pigment, 0)
    for index in range(3):
        x, y = at[0] + 0.12 + 0.045 * index, at[1] - 0.02
        seed = [
            (x + 0.012 * math.cos(t), y + 0.02 * math.sin(t))
            for t in np.linspace(0, 2 * math.pi, 14)
        ]
        page.outline(seed, 0.8, 0.8)
        page.shade(seed, 0.4, 50, "umber")
