"""Jars and bowls on a table edge, modelled by shading."""

import math

import numpy as np

from survey.demo.sheet.geometry import blob
from survey.demo.sheet.pen import Page

# Half-breadths of turned vessels from lip to foot, in heights. Our own, set by eye.
PROFILES = (
    (0.17, 0.13, 0.12, 0.20, 0.31, 0.36, 0.35, 0.29, 0.21, 0.17),
    (0.12, 0.10, 0.10, 0.11, 0.19, 0.27, 0.30, 0.28, 0.22, 0.18),
    (0.42, 0.43, 0.42, 0.39, 0.35, 0.29, 0.22, 0.16, 0.14, 0.18),
    (0.24, 0.22, 0.23, 0.26, 0.29, 0.31, 0.31, 0.29, 0.26, 0.23),
)
PIGMENTS = ("umber", "blue", "ochre", "green")


def vessels(page: Page) -> None:
    h = page.aspect
    edge = 0.64 * h
    page.tint([(0, 0), (1, 0), (1, edge), (0, edge)], "grey", 0.25)
    page.ruled((0.0, edge), (1.0, edge), 0.9, 0.7)
    page.tint([(0, edge), (1, edge), (1, h), (0, h)], "ochre", 0.3)
    page.shade([(0.0, edge), (1.0, edge), (1.0, edge + 0.04), (0.0, edge + 0.04)], 0.18, 2, "umber")
    order = page.random.permutation(4)
    for place, index in zip(((0.30, 0.74), (0.70, 0.72), (0.50, 0.82)), order, strict=False):
        height = (0.46, 0.40, 0.22)[int(page.random.integers(0, 2))] if index != 2 else 0.2
        vessel(page, place[0], place[1] * h, height * min(1.0, h), int(index))
    for u in (0.16, 0.80, 0.87):
        fruit(page, u, 0.86 * h + page.random.normal(0, 0.01), 0.045)


def vessel(page: Page, u: float, foot: float, height: float, index: int) -> None:
    share = np.linspace(0, 1, len(PROFILES[index]))
    fine = np.linspace(0, 1, 40)
    half = np.interp(fine, share, PROFILES[index]) * height
    half = np.convolve(np.pad(half, 3, mode="edge"), np.ones(7) / 7, mode="valid")
    v = foot - height + fine * height
    turn = np.linspace(0, math.pi, 12)
    base = [(u + half[-1] * math.cos(t), foot + 0.22 * half[-1] * math.sin(t)) for t in turn]
    body = [*zip(u + half, v, strict=True), *base, *zip((u - half)[::-1], v[::-1], strict=True)]
    cast = blob(page.random, (u + 0.9 * half.max(), foot), 0.9 * half.max(), 0.08)
    page.shade([(x, foot + 0.25 * (y - foot)) for x, y in cast], 0.5, 4, "umber")
    page.hide(body)
    page.tint(body, PIGMENTS[index], 0.5)
    for side in (-1, 1):
        page.line(np.column_stack([u + side * half, v]), 1.1, 0.95, 0.25)
    page.line(base, 1.2, 0.95, 0.1)
    for inner, tone in ((0.05, 0.3), (0.4, 0.4), (0.68, 0.5)):
        band = [
            *zip(u + half * inner, v, strict=True),
            *zip((u + half * 0.97)[::-1], v[::-1], strict=True),
        ]
        page.shade(band, tone, 70, PIGMENTS[index])
    page.shade(
        [*zip(u - half * 0.97, v, strict=True), *zip((u - half * 0.8)[::-1], v[::-1], strict=True)],
        0.25,
        110,
        PIGMENTS[index],
    )
    rim = [
        (u + half[0] * math.cos(t), v[0] + 0.24 * half[0] * math.sin(t))
        for t in np.linspace(0, 2 * math.pi, 28)
    ]
    page.hide(rim)
    page.line(rim, 1.0, 0.95, 0.1)
    page.shade(rim, 0.55, 20, "umber")


def fruit(page: Page, u: float, v: float, radius: float) -> None:
    outline = blob(page.random, (u, v - radius), radius, 0.04)
    page.shade(
        [
            (u - 0.3 * radius, v),
            (u + 2.2 * radius, v - 0.1 * radius),
            (u + 1.4 * radius, v + 0.25 * radius),
        ],
        0.45,
        3,
        "umber",
    )
    page.hide(outline)
    page.tint(outline, "red", 0.42)
    page.outline(outline, 1.0, 0.9)
    page.shade(
        blob(page.random, (u + 0.35 * radius, v - 0.75 * radius), radius * 0.6, 0.06),
        0.45,
        60,
        "red",
    )
    page.curve(
        (u, v - 1.85 * radius),
        (u + 0.2 * radius, v - 2.2 * radius),
        (u + 0.4 * radius, v - 2.3 * radius),
    )
