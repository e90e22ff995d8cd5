"""Shipping off a low shore, with a fresh sky."""

from collections.abc import Callable

import numpy as np

from survey.demo.sheet.geometry import Point, curve
from survey.demo.sheet.noise import wander
from survey.demo.sheet.pen import Page
from survey.demo.sheet.subjects.landscape import ruled_border, sky

Place = Callable[[float, float], Point]


def harbour(page: Page) -> None:
    h = page.aspect
    sea = h * page.random.uniform(0.58, 0.66)
    sky(page, sea)
    shore(page, sea)
    page.ruled((0, sea), (1, sea), 0.8, 0.6)
    page.tint([(0, sea), (1, sea), (1, h), (0, h)], "blue", 0.34)
    for u, v, size in ((0.80, 0.015, 0.13), (0.24, 0.03, 0.20)):
        ship(page, u + page.random.normal(0, 0.03), sea + v * h, size)
    ship(page, 0.56, sea + 0.10 * h, 0.50 * min(1.0, h / 0.75))
    boat(page, 0.20 + page.random.normal(0, 0.03), sea + 0.24 * h, 0.15)
    waves(page, sea)
    gulls(page, sea)
    ruled_border(page)


def shore(page: Page, sea: float) -> None:
    u = np.linspace(0, 0.55, 40)
    top = sea - 0.02 - 0.018 * np.abs(wander(page.random, 40, 9)) - 0.03 * np.linspace(1, 0, 40)
    land = [*zip(u, top, strict=True), (0.55, sea), (0, sea)]
    page.hide(land)
    page.tint(land, "olive", 0.3)
    page.shade(land, 0.26, 80, "grey")
    page.line(np.column_stack([u, top]), 0.8, 0.6)
    tower = 0.09
    walls = [
        (tower, sea - 0.055),
        (tower + 0.02, sea - 0.055),
        (tower + 0.018, sea - 0.15),
        (tower + 0.002, sea - 0.15),
    ]
    page.hide(walls)
    page.outline(walls, 0.8)
    page.shade(
        [(tower + 0.011, sea - 0.055), walls[1], walls[2], (tower + 0.011, sea - 0.15)],
        0.5,
        85,
        "umber",
    )
    page.line(
        [(tower + 0.002, sea - 0.15), (tower + 0.01, sea - 0.17), (tower + 0.018, sea - 0.15)],
        0.8,
        0.9,
        0,
    )


def ship(page: Page, u: float, v: float, size: float) -> None:
    """A three-master under easy sail."""
    w = size

    def at(x: float, y: float) -> Point:
        return u + x * w, v - y * w

    for x, height in ((-0.27, 0.66), (0.0, 0.82), (0.26, 0.70)):
        page.ruled(at(x, 0.08), at(x - 0.012, height), 1.0)
        for level, breadth, drop in ((0.34, 0.13, 0.20), (0.56, 0.10, 0.16)):
            if level + 0.05 < height:
                sail(page, at, x, level * height / 0.78, breadth, drop)
        page.curve(
            at(x - 0.01, height),
            at(x + 0.03, height + 0.02),
            at(x + 0.09, height - 0.005),
            weight=0.8,
        )
        for foot in (-0.05, -0.03, 0.03, 0.05):
            page.ruled(at(x + foot, 0.10), at(x - 0.01, height * 0.72), 0.6, 0.5)
    hull = curve(
        [
            at(-0.46, 0.17),
            at(-0.42, 0.0),
            at(-0.2, -0.03),
            at(0.2, -0.03),
            at(0.38, 0.0),
            at(0.47, 0.13),
        ],
        8,
    )
    deck = curve(
        [at(0.47, 0.13), at(0.2, 0.09), at(-0.15, 0.09), at(-0.32, 0.15), at(-0.46, 0.17)], 8
    )
    page.hide([*hull, *deck])
    page.tint([*hull, *deck], "umber", 0.6)
    page.line(hull, 1.1, 0.95, 0.2)
    page.line(deck, 1.0, 0.9, 0.2)
    page.shade([*hull, *deck], 0.45, 3, "umber")
    page.curve(at(-0.43, 0.10), at(0.0, 0.045), at(0.44, 0.09), pressure=0.9)
    for x in np.linspace(-0.3, 0.3, 9):
        page.line([at(x, 0.035), at(x + 0.012, 0.035)], 1.5, 1.0, 0)
    page.ruled(at(0.45, 0.13), at(0.64, 0.24), 1.0)
    page.ruled(at(0.64, 0.24), at(0.25, 0.66), 0.6, 0.6)
    page.ruled(at(0.58, 0.2), at(0.25, 0.5), 0.6, 0.6)
    mirror = [at(-0.42, -0.03), at(0.38, -0.03), at(0.28, -0.14), at(-0.34, -0.13)]
    page.shade(mirror, 0.35, 1, "umber")


def sail(page: Page, at: Place, x: float, level: float, breadth: float, drop: float) -> None:
    belly = 0.035
    outline = [
        *curve([at(x - breadth, level), at(x, level + 0.005), at(x + breadth, level)], 6),
        *curve(
            [
                at(x + breadth, level),
                at(x + breadth + belly, level - drop / 2),
                at(x + breadth * 1.1, level - drop),
            ],
            6,
        ),
        *curve(
            [
                at(x + breadth * 1.1, level - drop),
                at(x + 0.02, level - drop * 0.86),
                at(x - breadth * 1.1, level - drop),
            ],
            6,
        ),
        *curve(
            [
                at(x - breadth * 1.1, level - drop),
                at(x - breadth + belly, level - drop / 2),
                at(x - breadth, level),
            ],
            6,
        ),
    ]
    page.hide(outline)
    page.line(outline, 0.8, 0.85, 0.2)
    page.tint(outline, "ochre", 0.14)
    shade = [
        at(x + breadth * 0.3, level),
        at(x + breadth, level),
        at(x + breadth + belly, level - drop / 2),
        at(x + breadth, level - drop),
        at(x + breadth * 0.4, level - drop * 0.88),
    ]
    page.shade(shade, 0.25, 80, "grey")


def boat(page: Page, u: float, v: float, size: float) -> None:
    hull = curve(
        [
            (u - size / 2, v - 0.14 * size),
            (u - 0.3 * size, v + 0.08 * size),
            (u + 0.3 * size, v + 0.08 * size),
            (u + size / 2, v - 0.15 * size),
        ],
        8,
    )
    rim = curve(
        [(u + size / 2, v - 0.15 * size), (u, v - 0.06 * size), (u - size / 2, v - 0.14 * size)], 8
    )
    page.hide([*hull, *rim])
    page.tint([*hull, *rim], "umber", 0.5)
    page.line(hull, 1.1, 0.95, 0.3)
    page.line(rim, 1.0, 0.9, 0.3)
    page.shade([*hull, *rim], 0.5, 5, "umber")
    for x in (-0.15, 0.18):
        body = [
            (u + (x + 0.06 * np.cos(t)) * size, v - 0.2 * size + 0.15 * size * np.sin(t))
            for t in np.linspace(np.pi, 2 * np.pi, 9)
        ]
        page.line(
            [
                (u + (x - 0.07) * size, v - 0.08 * size),
                *body,
                (u + (x + 0.07) * size, v - 0.08 * size),
            ],
            1.0,
            0.9,
        )
        page.curve(
            (u + x * size, v - 0.36 * size),
            (u + (x + 0.035) * size, v - 0.41 * size),
            (u + x * size, v - 0.45 * size),
            (u + (x - 0.035) * size, v - 0.41 * size),
            (u + x * size, v - 0.36 * size),
            weight=1.0,
        )
        page.ruled((u + x * size, v - 0.2 * size), (u + (x - 0.32) * size, v + 0.14 * size), 0.9)


def waves(page: Page, sea: float) -> None:
    h = page.aspect
    for v in np.linspace(sea + 0.015, h * 0.985, 30):
        near = (v - sea) / (h - sea)
        for start in page.random.uniform(-0.05, 0.95, 5):
            length = 0.03 + 0.09 * near
            count = 10
            u = np.linspace(start, start + length * page.random.uniform(0.6, 1.6), count)
            inside = (u > 0.005) & (u < 0.995)
            if inside.sum() > 3:
                swell = (0.0015 + 0.0045 * near) * np.sin(np.linspace(0.3, np.pi * 1.5, count))
                page.line(
                    np.column_stack([u, v + swell])[inside],
                    0.8 + 0.3 * near,
                    0.4 + 0.35 * near,
                    0.4,
                )


def gulls(page: Page, sea: float) -> None:
    for _ in range(5):
        u, v = page.random.uniform(0.25, 0.9), page.random.uniform(0.25, 0.7) * sea
        size = page.random.uniform(0.008, 0.014)
        page.curve(
            (u - size, v),
            (u - 0.4 * size, v - 0.5 * size),
            (u, v),
            (u + 0.4 * size, v - 0.5 * size),
            (u + size, v - 0.1 * size),
            weight=0.8,
        )
