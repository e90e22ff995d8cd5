"""What the making left: plate marks, ruled lines, drying brushes, a collector's stamp."""

import math

import numpy as np

from survey.demo.sheet.geometry import Points, bounds, curve
from survey.demo.sheet.marks.brush import colour, depth_within, soft_area
from survey.demo.sheet.pen import Strokes
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet


def plate_mark(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """The copper plate's edge pressed into damp paper: sunk and smoothed within, bevelled."""
    area = soft_area(sheet, points, 0.12)
    if area is None:
        return
    sunk = np.clip(depth_within(area) / 0.9, 0, 1)
    part = area.part
    sheet.height[part] -= 0.11 * mark.strength * sunk
    for side in ("recto", "verso"):
        sheet.relief[side][part] *= 1 - 0.45 * mark.strength * sunk
    sheet.gloss["recto"][part] += 0.05 * sunk
    tone = 0.05 * area.share * np.clip(1 + 0.3 * area.window.cloud(random, 12.0), 0, 2)
    sheet.media["recto"][part] += tone[:, :, None] * colour(1.0, 1.0, 1.0)


def incised_lines(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Lines ruled with a blind point before drawing: relief only, no colour at all."""
    left, top, right, bottom = bounds(points)
    strokes = Strokes(sheet.shape, sheet.px_per_mm)
    breadth = 0.28
    for share in np.linspace(0.08, 0.92, 6) + random.normal(0, 0.015, 6):
        y = top + share * (bottom - top)
        strokes.add([(left, y), (right, y + random.normal(0, 0.3))], breadth)
        x = left + share * (right - left)
        strokes.add([(x, top), (x + random.normal(0, 0.3), bottom)], breadth)
    middle, radius = (
        ((left + right) / 2, (top + bottom) / 2),
        0.32 * min(right - left, bottom - top),
    )
    turn = np.linspace(0, 2 * math.pi, 90)
    ring = [(middle[0] + radius * math.cos(t), middle[1] + radius * math.sin(t)) for t in turn]
    strokes.add(ring, breadth)
    strokes.add([(left, top), (right, bottom)], breadth)
    strokes.add([(right, top), (left, bottom)], breadth)
    furrow = strokes.laid()
    sheet.relief["recto"] -= 0.024 * mark.strength * furrow
    sheet.relief["verso"] += 0.010 * mark.strength * furrow


def drying_brush(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Broad parallel streaks where the damp sheet was brushed onto a board."""
    area = soft_area(sheet, points, 4.0)
    if area is None:
        return
    streaks = sheet.cloud(random, 1.1, stretch=28.0) + 0.6 * sheet.cloud(random, 0.5, stretch=40.0)
    sheet.relief[mark.side][area.part] += 0.0085 * mark.strength * area.share * streaks[area.part]
    sheet.gloss[mark.side][area.part] += 0.04 * area.share * np.tanh(streaks[area.part])


def collectors_stamp(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A small inked ring with a device in it, unevenly printed."""
    left, top, right, bottom = bounds(points)
    cx, cy, radius = (left + right) / 2, (top + bottom) / 2, (right - left) / 2 * 0.9
    strokes = Strokes(sheet.shape, sheet.px_per_mm)
    turn = np.linspace(0, 2 * math.pi, 40)
    for share in (1.0, 0.82):
        strokes.add(
            [(cx + share * radius * math.cos(t), cy + share * radius * math.sin(t)) for t in turn],
            0.3,
        )
    for lean in random.normal(0, 0.35, 4):
        strokes.add(
            curve(
                [
                    (cx + lean * radius, cy + 0.55 * radius),
                    (cx - 0.3 * lean * radius, cy),
                    (cx + 0.8 * lean * radius, cy - 0.55 * radius),
                ],
                8,
            ),
            0.35,
        )
    ink = strokes.laid() * np.clip(0.75 + 0.3 * sheet.cloud(random, 0.7), 0.2, 1.1)
    hue = colour(0.35, 1.5, 1.4) if random.random() < 0.5 else colour(1.5, 1.1, 0.5)
    sheet.media[mark.side] += ink[:, :, None] * hue
    sheet.quench[mark.side] += 1.2 * ink


def inscription(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A note in graphite, in a later hand."""
    left, _, right, bottom = bounds(points)
    strokes = Strokes(sheet.shape, sheet.px_per_mm)
    x = left
    while x < right - 2:
        joined = [(x, bottom)]
        for _ in range(int(random.integers(2, 7))):
            x0, rise = (
                joined[-1][0],
                random.uniform(1.2, 1.7) * (2.1 if random.random() < 0.2 else 1),
            )
            joined += [
                (x0 + 0.9, bottom - rise),
                (x0 + 1.0, bottom - 0.5),
                (x0 + 1.5, bottom - 0.1),
            ]
        strokes.add(curve(joined, 5), 0.3, 0.8)
        x = joined[-1][0] + 1.6
    lead = strokes.laid() * np.clip(0.7 + 0.4 * sheet.cloud(random, 0.4), 0.1, 1.2)
    sheet.media[mark.side] += lead[:, :, None] * colour(0.7, 0.7, 0.68)
    sheet.gloss[mark.side] += 0.3 * lead
    sheet.quench[mark.side] += 0.7 * lead


STAMPS = {
    "plate-mark": plate_mark,
    "incised-lines": incised_lines,
    "stylus-lines": incised_lines,
    "brush-marks-from-drying": drying_brush,
    "collectors-stamp": collectors_stamp,
    "inscription": inscription,
}
