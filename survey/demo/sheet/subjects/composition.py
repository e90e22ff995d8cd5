"""Bars, discs and arcs: a print of the middle of the twentieth century."""

import math

import numpy as np

from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.pen import Page


def composition(page: Page) -> None:
    h = page.aspect
    random = page.random
    colours = list(random.permutation(["red", "blue", "ochre", "black", "olive", "umber"]))
    page.tint(rectangle(0.02, 0.02 * h, 0.98, 0.98 * h), "ochre", 0.10)
    tilt = random.uniform(-0.35, 0.35)
    for index in range(4):
        u, v = random.uniform(0.15, 0.8), random.uniform(0.15, 0.8) * h
        length, breadth = random.uniform(0.25, 0.5), random.uniform(0.03, 0.11)
        turn = tilt + (math.pi / 2 if index % 2 else 0) + random.normal(0, 0.05)
        bar = _turned(u, v, length, breadth, turn)
        page.hide(bar)
        page.tint(bar, str(colours[index]), 0.75)
        page.outline(bar, 1.0, 0.9)
        page.shade(bar, (0.2, 0.5, 0.8, 0.35)[index], math.degrees(turn) + 90, str(colours[index]))
    for index in range(3):
        radius = random.uniform(0.06, 0.17)
        u, v = random.uniform(0.2, 0.8), random.uniform(0.2, 0.8) * h
        disc = [
            (u + radius * math.cos(t), v + radius * math.sin(t))
            for t in np.linspace(0, 2 * math.pi, 60)
        ]
        if index == 0:
            page.hide(disc)
        page.tint(disc, str(colours[3 + index]), 0.7)
        page.outline(disc, 1.1, 0.95)
        page.shade(disc, (0.75, 0.3, 0.15)[index], random.uniform(0, 180), str(colours[3 + index]))
    for _ in range(5):
        u, v = random.uniform(0.2, 0.8), random.uniform(0.2, 0.8) * h
        start, radius = random.uniform(0, 6), random.uniform(0.1, 0.35)
        arc = [
            (u + radius * math.cos(t), v + radius * math.sin(t))
            for t in np.linspace(start, start + random.uniform(0.8, 2.5), 40)
            if 0.02 < u + radius * math.cos(t) < 0.98
            and 0.02 * h < v + radius * math.sin(t) < 0.98 * h
        ]
        if len(arc) > 4:
            page.line(arc, random.uniform(1.2, 2.6), 1.0, 0.1)
    for v in np.linspace(0.1, 0.9, 3) * h:
        page.ruled((0.05, v), (0.95, v + tilt * 0.2), 0.8, 0.6)


def _turned(
    u: float, v: float, length: float, breadth: float, turn: float
) -> list[tuple[float, float]]:
    along, across = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    return [
        (
            u + a * length / 2 * along[0] + b * breadth / 2 * across[0],
            v + a * length / 2 * along[1] + b * breadth / 2 * across[1],
        )
        for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
