"""Marks in the skin of the sheet: taken off, rubbed, scratched, soiled or coated."""

import numpy as np

from survey.demo.sheet.geometry import Points
from survey.demo.sheet.marks.brush import Area, colour, near_line, soft_area
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet

SOIL = colour(0.5, 0.6, 0.7)


def _ragged(area: Area, random: np.random.Generator, cell_mm: float) -> np.ndarray:
    """The area broken up at its edge, as torn fibres are."""
    edge = 4 * area.share * (1 - area.share)
    return np.clip(area.share + 0.45 * edge * area.window.cloud(random, cell_mm), 0, 1)


def skinned_area(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """The top fibres went with something that was pulled off: thin, rough, and a sharp rim."""
    area = soft_area(sheet, points, 0.35)
    if area is None:
        return
    taken = _ragged(area, random, 1.2) * (0.75 + 0.25 * np.tanh(area.window.cloud(random, 2.5)))
    taken = (mark.strength * np.clip(taken, 0, 1)).astype(np.float32)
    sheet.thickness[area.part] *= 1 - 0.42 * taken
    torn = 0.010 * area.window.cloud(random, 0.5) + 0.010 * area.window.cloud(random, 1.6)
    sheet.relief[mark.side][area.part] += taken * (torn - 0.045)
    sheet.media[mark.side][area.part] *= (1 - 0.85 * taken)[:, :, None]
    sheet.gloss[mark.side][area.part] *= 1 - 0.6 * taken
    # Beneath the sized and handled skin the fibres are paler, and give back more of the lamp.
    sheet.media[mark.side][area.part] -= (0.07 * taken)[:, :, None] * colour(0.5, 0.8, 1.3)
    sheet.quench[mark.side][area.part] -= 0.12 * taken


def thinned_area(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Worn or pared thin without a rim."""
    area = soft_area(sheet, points, 2.0)
    if area is not None:
        sheet.thickness[area.part] *= 1 - 0.38 * mark.strength * area.share
        sheet.relief[mark.side][area.part] -= 0.03 * mark.strength * area.share


def insect_grazing(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Irregular shallow bites, like a map of lakes; some go through."""
    area = soft_area(sheet, points, 1.5)
    if area is None:
        return
    pattern = area.window.cloud(random, 3.2) + 0.5 * area.window.cloud(random, 1.2)
    bitten = np.clip((pattern * area.share - 0.35) * 4, 0, 1).astype(np.float32)
    sheet.thickness[area.part] *= 1 - 0.5 * mark.strength * bitten
    rough = 0.012 * area.window.cloud(random, 0.5) - 0.05
    sheet.relief[mark.side][area.part] += mark.strength * bitten * rough
    sheet.media[mark.side][area.part] *= (1 - 0.9 * bitten)[:, :, None]
    sheet.gloss[mark.side][area.part] *= 1 - 0.5 * bitten
    through = np.clip((pattern * area.share - 2.1 + 0.5 * mark.strength) * 6, 0, 1)
    sheet.present[area.part] *= (1 - through * (mark.strength > 0.5)).astype(np.float32)


def abrasion(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Rubbed: fibres raised, media worn from the high places."""
    area = soft_area(sheet, points, 2.2)
    if area is None:
        return
    streaks = np.clip(0.5 + 0.5 * area.window.cloud(random, 0.8), 0, 1.2)
    rubbed = (mark.strength * area.share * streaks).astype(np.float32)
    sheet.media[mark.side][area.part] *= np.clip(1 - 0.75 * rubbed, 0, 1)[:, :, None]
    sheet.relief[mark.side][area.part] += 0.011 * rubbed * area.window.cloud(random, 0.45)
    sheet.gloss[mark.side][area.part] *= np.clip(1 - 0.6 * rubbed, 0, 1)


def scratch(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    field = near_line(sheet, points, 2.0)
    if field is None:
        return
    part = field.window.part
    cut = mark.strength * np.exp(-((field.distance / 0.16) ** 2)).astype(np.float32)
    sheet.relief[mark.side][part] -= 0.02 * cut
    sheet.media[mark.side][part] *= np.clip(1 - 0.8 * cut, 0, 1)[:, :, None]
    sheet.gloss[mark.side][part] += 0.3 * cut


def surface_dirt(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    area = soft_area(sheet, points, 5.0)
    if area is None:
        return
    cover = 0.75 + 0.14 * area.window.cloud(random, 30.0) + 0.18 * area.window.cloud(random, 0.6)
    dirt = (0.20 * mark.strength * area.share * np.clip(cover, 0, 2)).astype(np.float32)
    sheet.media[mark.side][area.part] += dirt[:, :, None] * colour(1.0, 1.05, 1.15)
    sheet.quench[mark.side][area.part] += 1.5 * dirt


def fingerprint(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Curved ridges of grease and dirt, half a millimetre apart."""
    area = soft_area(sheet, points, 1.2)
    if area is None:
        return
    x, y = area.window.grid()
    cx, cy = np.mean(points, axis=0)
    radius = np.hypot((x - cx) * 1.3, (y - cy) + 3.0) + 0.6 * area.window.cloud(random, 4.0)
    ridges = np.clip(np.sin(2 * np.pi * radius / 0.55), 0, 1)
    print_ = (mark.strength * area.share * ridges).astype(np.float32)
    sheet.media[mark.side][area.part] += (0.22 * print_)[:, :, None] * SOIL * 1.6
    sheet.gloss[mark.side][area.part] += 0.12 * print_
    sheet.quench[mark.side][area.part] += 0.3 * print_


def coating(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Varnish: glossy, yellowish, and it glows greenish under the lamp."""
    _coat(sheet, mark, points, random, gloss=0.26, yellow=0.16, glow=0.10)


def fixative(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A thin spattered film."""
    _coat(sheet, mark, points, random, gloss=0.11, yellow=0.04, glow=0.035)


def _coat(
    sheet: Sheet,
    mark: Mark,
    points: Points,
    random: np.random.Generator,
    gloss: float,
    yellow: float,
    glow: float,
) -> None:
    area = soft_area(sheet, points, 0.8)
    if area is None:
        return
    streaks = sheet.cloud(random, 2.2, stretch=22.0)[area.part]
    even = 1 + 0.05 * streaks + 0.04 * area.window.cloud(random, 35.0)
    film = (mark.strength * np.clip(area.share * even, 0, 1.3)).astype(np.float32)
    part, side = area.part, mark.side
    sheet.gloss[side][part] = np.clip(sheet.gloss[side][part] + gloss * film, 0, 1)
    sheet.relief[side][part] *= 1 - 0.35 * np.clip(film, 0, 1)
    sheet.media[side][part] += (yellow * film)[:, :, None] * colour(0.1, 0.5, 1.8)
    sheet.emission[side][part] += (glow * film)[:, :, None] * colour(0.9, 1.5, 0.9)


STAMPS = {
    "skinned-area": skinned_area,
    "thinned-area": thinned_area,
    "insect-grazing": insect_grazing,
    "abrasion": abrasion,
    "scratch": scratch,
    "surface-dirt": surface_dirt,
    "fingerprint": fingerprint,
    "varnish": coating,
    "fixative": fixative,
}
