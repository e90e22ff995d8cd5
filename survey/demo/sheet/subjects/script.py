"""Writing that reads as writing but says nothing: no letter of it is a letter."""

import math

import numpy as np

from survey.demo.sheet.geometry import curve
from survey.demo.sheet.pen import Page


def written_word(
    page: Page, u: float, v: float, size: float, letters: int, pressure: float = 0.8
) -> float:
    """One word of joined strokes from (u, v); returns where it ends."""
    points: list[tuple[float, float]] = [(u, v)]
    for _ in range(letters):
        kind = page.random.random()
        step = size * page.random.uniform(0.55, 0.85)
        if kind < 0.16:
            rise, sink = 1.75, 0.0
        elif kind < 0.26:
            rise, sink = 0.9, 0.9
        else:
            rise, sink = page.random.uniform(0.75, 1.0), 0.0
        x, _y = points[-1]
        points += [
            (x + 0.45 * step + 0.16 * size * rise, v - size * rise),
            (x + 0.55 * step, v - 0.3 * size),
            (x + 0.6 * step - 0.12 * size * sink, v + size * sink),
            (x + step, v - 0.12 * size),
        ]
    line = curve(points, 5)
    slant = line.copy()
    slant[:, 0] += 0.18 * (v - line[:, 1])
    page.line(slant, 0.9, pressure, 0.15)
    return points[-1][0]


def written_line(
    page: Page, u: float, v: float, end: float, size: float, pressure: float = 0.8
) -> None:
    while u < end - 3 * size:
        letters = int(page.random.integers(2, 9))
        u = written_word(page, u, v, size, letters, pressure * page.random.uniform(0.85, 1.1))
        u += 0.85 * size


def caption(page: Page, u: float, v: float, words: int) -> None:
    """A line or two of small writing centred at (u, v): an inscription below a drawing."""
    size = 0.012
    at = u - words * 2.6 * size
    for _ in range(words):
        at = written_word(page, at, v, size, int(page.random.integers(5, 9)), 0.8) + size


def letter(page: Page) -> None:
    """A page of correspondence: address, lines of writing, a signature with its flourish."""
    h = page.aspect
    size = 0.0125
    written_line(page, 0.60, 0.05 * h, 0.93, size)
    written_word(page, 0.06, 0.12 * h, size * 1.2, 7)
    v = 0.19 * h
    while v < 0.80 * h:
        paragraph_ends = page.random.random() < 0.12
        end = page.random.uniform(0.4, 0.8) if paragraph_ends else page.random.uniform(0.91, 0.97)
        written_line(page, page.random.uniform(0.05, 0.065), v, end, size)
        v += (0.075 if paragraph_ends else 0.048) * max(0.75, min(h, 1.1))
    end_u = written_word(page, 0.60, 0.90 * h, size * 1.5, 8, 0.95)
    turn = np.linspace(0, 3.2 * math.pi, 40)
    flourish = [
        (end_u - 0.1 + 0.12 * math.cos(t) * (1 - t / 14), 0.925 * h + 0.02 * math.sin(t))
        for t in turn
    ]
    page.line(flourish, 1.0, 0.7, 0.1)
