"""What befalls the drawing or print itself."""

import numpy as np

from survey.demo.sheet.geometry import Points
from survey.demo.sheet.marks.brush import colour, soft_area
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet, blurred


def flaking(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Islands of medium gone to the paper, and their rims curling up."""
    area = soft_area(sheet, points, 1.5)
    if area is None:
        return
    cracked = area.window.cloud(random, 1.7) + 0.5 * area.window.cloud(random, 0.6)
    gone = np.clip((cracked * area.share - 0.75 + 0.45 * mark.strength) * 7, 0, 1)
    laid = np.clip(sheet.media["recto"][area.part].mean(axis=2) * 3, 0, 1)
    gone = (gone * area.share).astype(np.float32)
    rim = np.clip(blurred(gone, 0.35 * sheet.px_per_mm) * (1 - gone) * 2.2, 0, 1) * laid
    sheet.media["recto"][area.part] *= (1 - 0.96 * gone)[:, :, None]
    sheet.quench["recto"][area.part] *= 1 - 0.9 * gone
    sheet.relief["recto"][area.part] += 0.05 * mark.strength * rim - 0.015 * gone * laid
    sheet.gloss["recto"][area.part] += 0.15 * rim


def media_loss(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    area = soft_area(sheet, points, 0.5)
    if area is not None:
        kept = 1 - mark.strength * area.share
        sheet.media["recto"][area.part] *= kept[:, :, None]
        sheet.quench["recto"][area.part] *= kept


def smudging(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Loose medium dragged a few millimetres in one direction."""
    area = soft_area(sheet, points, 3.0)
    if area is None:
        return
    here = sheet.media["recto"][area.part]
    turn = random.uniform(-0.6, 0.6)
    dragged = np.zeros_like(here)
    steps = 12
    for step in range(1, steps + 1):
        reach = 6.0 * mark.strength * step / steps * sheet.px_per_mm
        shift = (round(reach * np.sin(turn)), round(reach * np.cos(turn)))
        dragged += np.roll(here, shift, axis=(0, 1)) * (1 - step / (steps + 1)) / steps * 2
    share = (mark.strength * area.share)[:, :, None]
    sheet.media["recto"][area.part] = here * (1 - 0.25 * share) + 0.4 * share * blurred(
        dragged, 2.0
    )


def offset(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A faint mirror image of the facing page, taken up while the two lay together."""
    area = soft_area(sheet, points, 2.0)
    if area is None:
        return
    ghost = blurred(sheet.media["recto"][:, ::-1].mean(axis=2), 0.35 * sheet.px_per_mm)[area.part]
    amount = 0.22 * mark.strength * area.share * ghost
    sheet.media[mark.side][area.part] += amount[:, :, None] * colour(0.9, 1.05, 1.3)
    sheet.quench[mark.side][area.part] += 1.2 * amount


def fading(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Colours gone paler where light reached them; under the lamp they are as dark as ever."""
    area = soft_area(sheet, points, 0.8)
    if area is not None:
        sheet.media["recto"][area.part] *= (1 - 0.62 * mark.strength * area.share)[:, :, None]


def ink_corrosion(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Iron-gall ink haloed brown, struck through, and the paper eaten thin beneath it."""
    area = soft_area(sheet, points, 2.0)
    if area is None:
        return
    ink = np.clip(sheet.media["recto"][area.part].mean(axis=2) * 1.3, 0, 1) * area.share
    halo = blurred(ink, 0.7 * sheet.px_per_mm)
    sheet.stain[area.part] += (0.6 * mark.strength * halo)[:, :, None] * colour(0.35, 0.8, 1.4)
    sheet.media["verso"][area.part] += (0.8 * mark.strength * ink)[:, :, None] * colour(
        0.5, 1.0, 1.5
    )
    for side in ("recto", "verso"):
        sheet.quench[side][area.part] += 1.2 * mark.strength * halo
    # Most where strokes cross and ink lay thick.
    thick = blurred(ink, 0.3 * sheet.px_per_mm) * (1 + 0.45 * area.window.cloud(random, 2.5))
    gone = np.clip((thick - 1.15 + 0.45 * mark.strength) * 5, 0, 1)
    sheet.present[area.part] *= (1 - gone).astype(np.float32)


STAMPS = {
    "flaking": flaking,
    "media-loss": media_loss,
    "smudging": smudging,
    "rubbed-media": smudging,
    "offset": offset,
    "fading": fading,
    "iron-gall-ink-corrosion": ink_corrosion,
}
