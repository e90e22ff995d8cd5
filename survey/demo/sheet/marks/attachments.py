"""What was stuck to the sheet: hinges, tape, patches, linings, and what they leave."""

import numpy as np

from survey.demo.sheet.geometry import Points, bounds
from survey.demo.sheet.marks.brush import Area, Stamp, colour, depth_within, soft_area
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet


def _stick(
    sheet: Sheet,
    mark: Mark,
    area: Area,
    paper_mm: float,
    tone: np.ndarray,
    glow: np.ndarray,
    random: np.random.Generator,
) -> None:
    """A second paper on one side: it adds thickness, hides what it covers, has its own tone."""
    part, side = area.part, mark.side
    fibres = 1 + 0.10 * area.window.cloud(random, 0.8) + 0.08 * area.window.cloud(random, 3.0)
    share = np.clip(area.share, 0, 1)
    sheet.thickness[part] += (paper_mm * share * fibres).astype(np.float32)
    sheet.relief[side][part] = (
        sheet.relief[side][part] * (1 - 0.5 * share)
        + paper_mm * share
        + 0.003 * share * area.window.cloud(random, 0.9)
    )
    covered = share[:, :, None]
    sheet.media[side][part] = sheet.media[side][part] * (1 - 0.85 * covered) + covered * tone
    sheet.emission[side][part] = sheet.emission[side][part] * (1 - covered) + covered * glow
    sheet.quench[side][part] *= 1 - share


def _pull(sheet: Sheet, points: Points, strength: float, random: np.random.Generator) -> None:
    """Dried paste draws the sheet a little: a pucker about the place, seen in raking light."""
    area = soft_area(sheet, points, 2.2)
    if area is None:
        return
    rim = 4 * area.share * (1 - np.clip(area.share, 0, 1))
    pucker = 0.04 * rim + 0.05 * area.share * area.window.cloud(random, 5.0)
    sheet.height[area.part] += strength * pucker


def _pasted(
    soft_mm: float, paper_mm: float, tone: np.ndarray, glow: np.ndarray, pulls: bool
) -> Stamp:
    """A mark made of a piece of paper ``paper_mm`` thick, its edges ``soft_mm`` wide."""

    def stamped(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
        area = soft_area(sheet, points, soft_mm)
        if area is None:
            return
        _stick(sheet, mark, area, paper_mm, tone, glow, random)
        if pulls:
            _pull(sheet, points, mark.strength, random)

    return stamped


# Long-fibred paper with feathered edges; a stout patch; a strip of thin tissue.
hinge = _pasted(0.5, 0.075, colour(0.05, 0.07, 0.12), colour(0.30, 0.34, 0.40), pulls=True)
patch = _pasted(0.2, 0.14, colour(0.10, 0.16, 0.28), colour(0.20, 0.22, 0.25), pulls=True)
mend = _pasted(0.8, 0.022, colour(0.01, 0.015, 0.03), colour(0.26, 0.29, 0.35), pulls=False)


def hinge_residue(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Paste and torn fibres where a hinge was."""
    area = soft_area(sheet, points, 0.4)
    if area is None:
        return
    left = np.clip(area.share * (0.55 + 0.6 * area.window.cloud(random, 2.0)), 0, 1.2)
    left = (mark.strength * left).astype(np.float32)
    part, side = area.part, mark.side
    sheet.thickness[part] += 0.045 * left
    sheet.relief[side][part] += left * (0.02 + 0.008 * area.window.cloud(random, 0.7))
    sheet.stain[part] += (0.22 * left)[:, :, None] * colour(0.3, 0.6, 1.2)
    sheet.gloss[side][part] += 0.25 * left
    sheet.emission[side][part] += (0.28 * left)[:, :, None] * colour(0.75, 0.92, 1.0)
    _pull(sheet, points, 0.7 * mark.strength, random)


def tape(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Pressure-sensitive tape: a glossy yellow strip, its glue struck through."""
    area = soft_area(sheet, points, 0.12)
    if area is None:
        return
    glue = (
        mark.strength * np.clip(area.share * (0.9 + 0.2 * area.window.cloud(random, 3.0)), 0, 1.3)
    ).astype(np.float32)
    part, side = area.part, mark.side
    sheet.thickness[part] += 0.03 * area.share
    sheet.relief[side][part] = (
        sheet.relief[side][part] * (1 - 0.85 * area.share) + 0.05 * area.share
    )
    sheet.stain[part] += (0.34 * glue)[:, :, None] * colour(0.2, 0.62, 1.6)
    sheet.gloss[side][part] = np.clip(sheet.gloss[side][part] + 0.36 * area.share, 0, 1)
    sheet.emission[side][part] += (0.22 * glue)[:, :, None] * colour(0.9, 0.85, 0.5)
    for each in ("recto", "verso"):
        sheet.quench[each][part] += 0.5 * glue


def label(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A printed collection label: a ruled frame and two lines of type."""
    patch(sheet, mark, points, random)
    area = soft_area(sheet, points, 0.1)
    if area is None:
        return
    depth = depth_within(area)
    frame = np.exp(-(((depth - 1.4) / 0.18) ** 2))
    _, y = area.window.grid()
    _, top, _, bottom = bounds(points)
    lines = np.zeros_like(frame)
    for share in (0.4, 0.66):
        row = np.exp(-(((y - (top + share * (bottom - top))) / 0.8) ** 2))
        lines = np.maximum(lines, row * (area.window.cloud(random, 0.9) > 0.1) * (depth > 3))
    print_ = np.clip(frame + lines, 0, 1).astype(np.float32)
    sheet.media[mark.side][area.part] += (1.4 * print_ * area.share)[:, :, None] * colour(1, 1, 1)


def fill(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A loss made good with another paper, set in: its own tone, thickness and glow."""
    area = soft_area(sheet, points, 0.18)
    if area is None:
        return
    share = np.clip(area.share, 0, 1)
    part = area.part
    own = sheet.recipe.thickness_mm * (1.12 + 0.05 * area.window.cloud(random, 2.5))
    sheet.thickness[part] = sheet.thickness[part] * (1 - share) + own * share
    joint = np.exp(-((depth_within(area) / 0.8) ** 2)) * share
    sheet.thickness[part] *= 1 + 0.5 * joint
    sheet.present[part] = np.maximum(sheet.present[part], share)
    smooth = 0.0025 * area.window.cloud(random, 0.6)
    for side in ("recto", "verso"):
        sheet.relief[side][part] = sheet.relief[side][part] * (1 - share) + share * smooth
        sheet.relief[side][part] += 0.02 * joint
        sheet.emission[side][part] *= (1 - 0.45 * share)[:, :, None]
        sheet.media[side][part] *= (1 - share)[:, :, None]
        sheet.quench[side][part] *= 1 - share
    tone = np.where(mark.strength > 0.5, 0.10, 0.04) * colour(0.6, 1.0, 1.5)
    sheet.stain[part] = sheet.stain[part] * (1 - share)[:, :, None] + share[:, :, None] * tone


def lining(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A whole second sheet pasted to the verso."""
    area = soft_area(sheet, points, 0.2)
    if area is not None:
        _stick(sheet, mark, area, 0.12, colour(0.06, 0.10, 0.18), colour(0.26, 0.29, 0.33), random)
        sheet.height[area.part] *= 1 - 0.6 * np.clip(area.share, 0, 1)


STAMPS = {
    "hinge": hinge,
    "failed-hinge": hinge,
    "hinge-residue": hinge_residue,
    "adhesive-residue": hinge_residue,
    "tape": tape,
    "patch": patch,
    "label": label,
    "fill": fill,
    "mend": mend,
    "lining": lining,
}
