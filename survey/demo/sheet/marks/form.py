"""Marks that change the shape of the sheet or break it."""

import numpy as np

from survey.demo.sheet.geometry import Points
from survey.demo.sheet.marks.brush import colour, depth_within, near_line, soft_area
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet

SOIL = colour(0.5, 0.62, 0.75)


def towards_recto(mark: Mark) -> int:
    """+1 for a ridge that stands towards the recto viewer, -1 for one that stands away."""
    return 1 if mark.ridge == (mark.side == "recto") else -1


def handling_crease(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A short bent crease, as a thumb leaves it: sharp on one side, a dent on the other."""
    field = near_line(sheet, points, 7.0)
    if field is None:
        return
    taper = np.clip(np.sin(np.pi * field.along), 0, 1) ** 0.6
    breadth = np.where(field.side > 0, 0.55, 2.2)
    rise = 0.16 * mark.strength * taper * field.fade * np.exp(-field.distance / breadth)
    part = field.window.part
    sheet.height[part] += towards_recto(mark) * rise.astype(np.float32)
    soiled = 0.10 * mark.strength * taper * np.exp(-((field.distance / 0.3) ** 2))
    sheet.stain[part] += soiled.astype(np.float32)[:, :, None] * SOIL


def soft_fold(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A fold opened again: a broad roof without a broken edge."""
    _fold(sheet, mark, points, breadth_mm=4.5, broken=0.25)


def hard_fold(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A fold pressed sharp: fibres broken along it, dirt in the break."""
    _fold(sheet, mark, points, breadth_mm=1.6, broken=1.0)


def _fold(sheet: Sheet, mark: Mark, points: Points, breadth_mm: float, broken: float) -> None:
    field = near_line(sheet, points, 5 * breadth_mm)
    if field is None:
        return
    part = field.window.part
    # A roof, rounded at the ridge: away from it the sheet falls off evenly, then lies down.
    ridge = np.sqrt(field.distance**2 + (0.12 * breadth_mm) ** 2)
    roof = field.fade * np.exp(-ridge / breadth_mm)
    rise = mark.strength * (0.10 + 0.045 * breadth_mm) * roof
    sheet.height[part] += towards_recto(mark) * rise.astype(np.float32)
    line = np.exp(-((field.distance / 0.28) ** 2)).astype(np.float32)
    sheet.thickness[part] *= 1 - 0.22 * broken * mark.strength * line
    sheet.stain[part] += (0.16 * broken * mark.strength * line)[:, :, None] * SOIL
    worn = np.clip(1 - 0.7 * broken * mark.strength * line, 0, 1)
    sheet.media["recto"][part] *= worn[:, :, None]


def tear(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Open at the edge, closed at its tip; one lip stands a little higher than the other."""
    field = near_line(sheet, points, 9.0)
    if field is None:
        return
    part = field.window.part
    gap = (0.12 + 0.5 * mark.strength) * np.clip(1 - field.along, 0, 1) ** 1.3 + 0.05
    opened = np.clip((gap / 2 - field.distance) * sheet.px_per_mm + 0.5, 0, 1)
    opened *= field.along < 0.985
    sheet.present[part] *= (1 - opened).astype(np.float32)
    lift = 0.30 * mark.strength * (1 - field.along) * field.fade * np.exp(-field.distance / 3.2)
    sheet.height[part] += np.where(field.side > 0, lift, -0.2 * lift).astype(np.float32)
    # Torn paper is bevelled: fibres pulled out of one face along the way.
    bevel = np.exp(-((field.distance / 0.6) ** 2)) * (field.side > 0)
    sheet.thickness[part] *= (1 - 0.45 * bevel * (1 - 0.6 * field.along)).astype(np.float32)
    sheet.media["recto"][part] *= (1 - 0.8 * bevel).astype(np.float32)[:, :, None]
    soiled = 0.22 * np.exp(-((field.distance / 0.35) ** 2))
    sheet.stain[part] += soiled.astype(np.float32)[:, :, None] * SOIL


def loss(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A piece is gone; the paper thins towards the broken edge."""
    area = soft_area(sheet, points, 0.1)
    if area is None:
        return
    rough = area.share + 0.35 * area.window.cloud(random, 0.7) * (4 * area.share * (1 - area.share))
    gone = np.clip((rough - 0.5) * 3 + 0.5, 0, 1).astype(np.float32)
    sheet.present[area.part] *= 1 - gone
    rim = soft_area(sheet, points, 0.6)
    if rim is not None:
        sheet.thickness[rim.part] *= 1 - 0.45 * np.clip(rim.share, 0, 1)
        sheet.media["recto"][rim.part] *= (1 - 0.7 * np.clip(2 * rim.share, 0, 1))[:, :, None]


def puncture(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A hole with its rim pushed out on the far side."""
    loss(sheet, mark, points, random)
    rim = soft_area(sheet, points, 0.8)
    if rim is not None:
        ring = 4 * rim.share * (1 - rim.share)
        sheet.height[rim.part] -= towards_recto(mark) * 0.14 * mark.strength * ring


def pinhole(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    puncture(sheet, mark, points, random)
    rust = soft_area(sheet, points, 0.9)
    if rust is not None:
        stain = 0.5 * mark.strength * np.clip(rust.share * 2, 0, 1)
        sheet.stain[rust.part] += stain[:, :, None] * colour(0.35, 1.0, 1.7)


def worn_edge(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Soft, grey and thin along an edge."""
    area = soft_area(sheet, points, 1.2)
    if area is None:
        return
    amount = (
        mark.strength * area.share * np.clip(0.6 + 0.5 * area.window.cloud(random, 3.0), 0, 1.4)
    )
    sheet.stain[area.part] += (0.30 * amount)[:, :, None] * SOIL
    sheet.thickness[area.part] *= 1 - 0.22 * np.clip(amount, 0, 1)
    for side in ("recto", "verso"):
        sheet.relief[side][area.part] += 0.012 * amount * area.window.cloud(random, 0.6)


def cockling(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Short waves that run in from a held edge."""
    area = soft_area(sheet, points, 8.0)
    if area is None:
        return
    wave = area.window.cloud(random, 16.0) + 0.5 * area.window.cloud(random, 30.0)
    sheet.height[area.part] += 0.30 * mark.strength * area.share * wave


def planar_distortion(
    sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator
) -> None:
    """The sheet no longer lies flat: long swells."""
    area = soft_area(sheet, points, 12.0)
    if area is None:
        return
    swell = area.window.cloud(random, 55.0) + 0.4 * area.window.cloud(random, 28.0)
    sheet.height[area.part] += 0.85 * mark.strength * area.share * swell


def indentation(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A dent: pushed in from the side it is told from."""
    area = soft_area(sheet, points, 1.0)
    if area is not None:
        inward = 1 if mark.side == "verso" else -1
        sheet.height[area.part] += inward * 0.16 * mark.strength * np.clip(area.share, 0, 1)


def turned_corner(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A corner that was folded over and laid back: a sharp line, and it stands up still."""
    hard_fold(sheet, mark, points[:2], random)
    area = soft_area(sheet, points, 0.4)
    if area is not None:
        lift = depth_within(area)
        sheet.height[area.part] += 0.07 * mark.strength * lift


STAMPS = {
    "handling-crease": handling_crease,
    "creasing": handling_crease,
    "soft-fold": soft_fold,
    "hard-fold": hard_fold,
    "tear": tear,
    "loss": loss,
    "puncture": puncture,
    "pinhole": pinhole,
    "insect-hole": puncture,
    "worn-edge": worn_edge,
    "cockling": cockling,
    "planar-distortion": planar_distortion,
    "indentation": indentation,
    "turned-corner": turned_corner,
}
