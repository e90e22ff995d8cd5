"""A front in elevation, ruled: steps, columns, arches, pediment, with shadows at 45 degrees."""

import math

import numpy as np

from survey.demo.sheet.geometry import Points, rectangle
from survey.demo.sheet.pen import Page


def facade(page: Page) -> None:
    h = page.aspect
    bays = int(page.random.choice([3, 5]))
    base, top = 0.86 * h, 0.36 * h
    left, right = 0.12, 0.88
    ground(page, base)
    front = rectangle(left, top, right, base)
    page.tint(front, "ochre", 0.14)
    border(page, front, 1.0)
    steps(page, left, right, base)
    bay = (right - left) / bays
    for index in range(bays):
        middle = left + (index + 0.5) * bay
        opening(
            page,
            middle,
            bay * 0.5,
            base,
            top + 0.30 * (base - top),
            arched=True,
            tall=index == bays // 2,
        )
        window(page, middle, bay * 0.34, top + 0.07 * (base - top), top + 0.21 * (base - top))
    for index in range(bays + 1):
        column(page, left + index * bay, bay * 0.16, base, top)
    entablature(page, left, right, top)
    pediment(
        page,
        left + bay * (bays // 2 - 0.2),
        right - bay * (bays // 2 - 0.2),
        top - 0.055 * h,
        0.15 * h,
    )
    scale_line(page, base + 0.10 * h)


def border(page: Page, corners: Points, weight: float, pressure: float = 0.9) -> None:
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        page.ruled(start, end, weight, pressure)


def ground(page: Page, base: float) -> None:
    page.ruled((0.02, base + 0.035), (0.98, base + 0.035), 1.2)
    page.shade(rectangle(0.02, base + 0.037, 0.98, base + 0.055), 0.35, 0, "umber")


def steps(page: Page, left: float, right: float, base: float) -> None:
    for index in range(3):
        drop = 0.0117 * index
        page.ruled(
            (left - 0.015 * (index + 1), base + drop),
            (right + 0.015 * (index + 1), base + drop),
            0.9,
        )


def column(page: Page, middle: float, breadth: float, base: float, top: float) -> None:
    half, cap = breadth / 2, 0.016
    shaft = rectangle(middle - half * 0.8, top + cap * 1.5, middle + half * 0.8, base - cap)
    page.hide(shaft)
    for edge in (shaft[0][0], shaft[1][0]):
        page.ruled((edge, shaft[0][1]), (edge, shaft[2][1]), 0.9)
    for level, reach in (
        (top + cap * 0.5, 1.25),
        (top + cap * 1.5, 1.0),
        (base - cap, 1.0),
        (base, 1.25),
    ):
        page.ruled((middle - half * reach, level), (middle + half * reach, level), 0.9)
    page.shade(rectangle(middle, shaft[0][1], shaft[1][0], shaft[2][1]), 0.30, 90, "grey")
    page.shade(
        rectangle(middle + half * 0.4, shaft[0][1], shaft[1][0], shaft[2][1]), 0.36, 90, "grey"
    )
    cast = [
        (shaft[1][0], shaft[0][1] + 0.02),
        (shaft[1][0] + breadth * 0.45, shaft[0][1] + 0.02 + breadth * 0.45),
        (shaft[1][0] + breadth * 0.45, base),
        (shaft[1][0], base),
    ]
    page.shade(cast, 0.22, 45, "grey")


def opening(
    page: Page, middle: float, breadth: float, base: float, top: float, arched: bool, tall: bool
) -> None:
    half = breadth / 2 * (1.1 if tall else 0.9)
    spring = top + half
    turn = np.linspace(math.pi, 2 * math.pi, 24)
    arch = [(middle + half * math.cos(t), spring + half * math.sin(t)) for t in turn]
    shape = [(middle - half, base), *arch, (middle + half, base)]
    page.hide(shape)
    page.line(shape, 1.0, 0.95, 0)
    outer = [(middle + half * 1.18 * math.cos(t), spring + half * 1.18 * math.sin(t)) for t in turn]
    page.line(outer, 0.8, 0.7, 0)
    for t in turn[2:-2:3]:
        page.ruled(
            (middle + half * math.cos(t), spring + half * math.sin(t)),
            (middle + half * 1.18 * math.cos(t), spring + half * 1.18 * math.sin(t)),
            0.7,
            0.7,
        )
    page.shade(shape, 0.5, 58, "umber")
    shadow = [
        (middle - half, base),
        *arch[:16],
        (middle - half * 0.45, spring),
        (middle - half * 0.45, base),
    ]
    page.shade(shadow, 0.6, 58, "umber")


def window(page: Page, middle: float, breadth: float, top: float, base: float) -> None:
    frame = rectangle(middle - breadth / 2, top, middle + breadth / 2, base)
    border(page, frame, 0.9)
    page.shade(frame, 0.5, 58, "umber")
    page.ruled((middle, top), (middle, base), 0.7)
    page.ruled((frame[0][0], (top + base) / 2), (frame[1][0], (top + base) / 2), 0.7)
    page.ruled((frame[0][0] - 0.008, base + 0.006), (frame[1][0] + 0.008, base + 0.006), 0.9)


def entablature(page: Page, left: float, right: float, top: float) -> None:
    for level, reach in (
        (0.0, 0.012),
        (0.014, 0.012),
        (0.034, 0.012),
        (0.042, 0.026),
        (0.055, 0.032),
    ):
        page.ruled((left - reach, top - level), (right + reach, top - level), 0.9)
    page.shade(rectangle(left - 0.012, top - 0.034, right + 0.012, top - 0.027), 0.35, 0, "grey")
    for u in np.arange(left, right, 0.018):
        page.line([(u, top - 0.036), (u + 0.009, top - 0.036)], 1.4, 0.7, 0)


def pediment(page: Page, left: float, right: float, base: float, rise: float) -> None:
    apex = ((left + right) / 2, base - rise)
    page.line([(left - 0.02, base), apex, (right + 0.02, base)], 1.0, 0.95, 0)
    inner = [(left + 0.03, base - 0.010), (apex[0], apex[1] + 0.026), (right - 0.03, base - 0.010)]
    page.line([*inner, inner[0]], 0.8, 0.8, 0)
    page.shade(
        [inner[0], inner[1], (apex[0], apex[1] + 0.045), (left + 0.055, base - 0.010)],
        0.4,
        30,
        "grey",
    )
    turn = np.linspace(0, 2 * math.pi, 30)
    for radius in (0.024, 0.017):
        ring = [
            (apex[0] + radius * math.cos(t), base - rise * 0.4 + radius * math.sin(t)) for t in turn
        ]
        page.line(ring, 0.8, 0.8, 0)


def scale_line(page: Page, v: float) -> None:
    """The builder's scale below an elevation: ten parts, every other filled."""
    for index in range(10):
        u = 0.30 + 0.04 * index
        part = rectangle(u, v, u + 0.04, v + 0.008)
        border(page, part, 0.7)
        if index % 2:
            page.hatch(part, 0.35, 0, 1.0, 0.9)
