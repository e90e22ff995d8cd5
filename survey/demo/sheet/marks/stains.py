"""Discoloration: what light, water, mould, glue and metal leave in the sheet."""

import numpy as np

from survey.demo.sheet.geometry import Point, Points, blob, bounds
from survey.demo.sheet.marks.brush import Area, colour, depth_within, soft_area
from survey.demo.sheet.pen import filled
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.structure import Sheet, blurred

BROWN = colour(0.32, 0.75, 1.5)
TAN = colour(0.22, 0.55, 1.15)


def _quench(sheet: Sheet, part: tuple[slice, slice], amount: np.ndarray) -> None:
    """A stain in the body of the sheet darkens the glow of both sides."""
    for side in ("recto", "verso"):
        sheet.quench[side][part] += amount


def foxing(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Rusty spots with a soft surround, scattered through the outline; dark under the lamp."""
    area = soft_area(sheet, points, 0.3)
    if area is None:
        return
    left, top, right, bottom = bounds(points)
    wanted = max(5, round((right - left) * (bottom - top) / 60 * (0.35 + mark.strength)))
    spots = np.zeros(sheet.shape, dtype=np.float32)
    for x, y in _scattered(area, random, wanted):
        size = float(np.clip(random.lognormal(-0.25, 0.5), 0.25, 2.4)) * (0.7 + 0.5 * mark.strength)
        outline = blob(random, (x, y), size, 0.14, 18)
        near = sheet.window(outline, 3 * size)
        if near is None:
            continue
        spot = blurred(filled(near, outline), 0.35 * size * sheet.px_per_mm)
        halo = blurred(spot, 0.9 * size * sheet.px_per_mm)
        spots[near.part] += random.uniform(0.5, 1.0) * (0.7 * spot + 0.6 * halo)
    reach = sheet.window(points, 12.0)
    if reach is None:
        return
    amount = (0.35 + 0.55 * mark.strength) * np.minimum(spots[reach.part], 1.3)
    sheet.stain[reach.part] += amount[:, :, None] * BROWN
    _quench(sheet, reach.part, 1.25 * amount)


def _scattered(area: Area, random: np.random.Generator, count: int) -> list[Point]:
    """Places inside the area, more of them towards one thick spot of it."""
    rows, columns = area.window.shape
    found: list[Point] = []
    thick = random.uniform(0.25, 0.75, 2)
    for _ in range(count * 12):
        u, v = random.uniform(0, 1, 2)
        near = np.exp(-(((u - thick[0]) / 0.35) ** 2 + ((v - thick[1]) / 0.35) ** 2))
        if random.random() > 0.3 + 0.7 * near:
            continue
        row, column = int(v * (rows - 1)), int(u * (columns - 1))
        if area.share[row, column] > 0.5:
            found.append(
                (
                    area.window.left_mm + (column + 0.5) / area.window.px_per_mm,
                    area.window.top_mm + (row + 0.5) / area.window.px_per_mm,
                )
            )
        if len(found) == count:
            break
    return found


def tideline(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Where water stopped: washed inside, a brown edge, and that edge glows under the lamp."""
    area = soft_area(sheet, points, 0.25)
    if area is None:
        return
    depth = depth_within(area) + 0.35 * area.window.cloud(random, 2.2) * (area.share > 0.5)
    depth = np.where(area.share > 0.5, np.maximum(depth, 0.02), 0)
    edge = np.exp(-((depth / 0.9) ** 2)) * area.share + 0.45 * np.exp(-depth / 4.5) * area.share
    second = 0.4 * np.exp(-(((depth - 6.5) / 0.7) ** 2)) * area.share
    line = (mark.strength * (edge + second)).astype(np.float32)
    sheet.stain[area.part] += (0.38 * line)[:, :, None] * BROWN
    sheet.stain[area.part] += (0.05 * mark.strength * area.share)[:, :, None] * TAN
    for side in ("recto", "verso"):
        sheet.emission[side][area.part] += (0.42 * line)[:, :, None] * colour(0.95, 1.0, 0.72)
        sheet.emission[side][area.part] *= (1 - 0.16 * mark.strength * area.share)[:, :, None]
    wet = soft_area(sheet, points, 5.0)
    if wet is not None:
        sheet.height[wet.part] += 0.16 * mark.strength * wet.share * wet.window.cloud(random, 22.0)
    # Size and dirt carried to the edge leave it a little denser than the washed inside.
    sheet.thickness[area.part] *= 1 + 0.05 * line - 0.02 * mark.strength * area.share


def mat_burn(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """A brown frame just inside the window of an acid mount, sharpest at the bevel."""
    area = soft_area(sheet, points, 0.15)
    if area is None:
        return
    depth = depth_within(area)
    band = (
        np.exp(-depth / 2.6)
        * area.share
        * np.clip(0.9 + 0.15 * area.window.cloud(random, 9.0), 0, 2)
    )
    band = (mark.strength * band).astype(np.float32)
    sheet.stain[area.part] += (0.42 * band)[:, :, None] * BROWN
    _quench(sheet, area.part, 0.9 * band)


def light_darkening(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """The window of a former mount, darker than the margins it kept covered."""
    area = soft_area(sheet, points, 0.5)
    if area is None:
        return
    aged = (mark.strength * area.share * (1 + 0.06 * area.window.cloud(random, 30.0))).astype(
        np.float32
    )
    sheet.stain[area.part] += (0.20 * aged)[:, :, None] * TAN
    _quench(sheet, area.part, 0.55 * aged)


def overall_darkening(
    sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator
) -> None:
    area = soft_area(sheet, points, 0.5)
    if area is None:
        return
    x, y = area.window.grid()
    from_sides = np.minimum(x, sheet.recipe.width_mm - x)
    from_ends = np.minimum(y, sheet.recipe.height_mm - y)
    inward = np.minimum(from_sides, from_ends)
    deeper_at_edge = 1 + 0.8 * np.exp(-np.maximum(inward, 0) / 9.0)
    aged = (mark.strength * area.share * deeper_at_edge).astype(np.float32)
    sheet.stain[area.part] += (0.16 * aged)[:, :, None] * BROWN
    _quench(sheet, area.part, 0.45 * aged)


def local_stain(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    area = soft_area(sheet, points, 0.9)
    if area is None:
        return
    inner = np.clip(area.share * (0.8 + 0.22 * area.window.cloud(random, 3.0)), 0, 1.3)
    rim = np.exp(-((depth_within(area) / 1.3) ** 2)) * area.share
    amount = (mark.strength * (0.55 * inner + 0.5 * rim)).astype(np.float32)
    sheet.stain[area.part] += (0.42 * amount)[:, :, None] * BROWN
    _quench(sheet, area.part, 0.9 * amount)


def oil_stain(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Grease: a faint yellow by day, clear in transmitted light, bright under the lamp."""
    area = soft_area(sheet, points, 1.0)
    if area is None:
        return
    amount = (mark.strength * area.share).astype(np.float32)
    sheet.stain[area.part] += (0.14 * amount)[:, :, None] * TAN
    sheet.thickness[area.part] *= 1 - 0.30 * amount
    for side in ("recto", "verso"):
        sheet.emission[side][area.part] += (0.16 * amount)[:, :, None] * colour(1.0, 0.95, 0.55)
        sheet.gloss[side][area.part] += 0.08 * amount


def adhesive_stain(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Glue that has browned and struck through; it glows bluish white."""
    area = soft_area(sheet, points, 0.6)
    if area is None:
        return
    film = np.clip(area.share * (0.8 + 0.3 * area.window.cloud(random, 1.6)), 0, 1.4)
    film = (mark.strength * film).astype(np.float32)
    sheet.stain[area.part] += (0.30 * film)[:, :, None] * BROWN
    sheet.thickness[area.part] *= 1 + 0.12 * film
    for side, glow in (("recto", 0.12), ("verso", 0.30)):
        if mark.side == "recto":
            glow = 0.42 - glow
        sheet.emission[side][area.part] += (glow * film)[:, :, None] * colour(0.75, 0.95, 1.0)
    sheet.gloss[mark.side][area.part] += 0.22 * film
    sheet.relief[mark.side][area.part] *= 1 - 0.4 * np.clip(film, 0, 1)


def old_mould(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Spotted grey, violet and yellow-brown stains that no longer stand up."""
    area = soft_area(sheet, points, 3.0)
    if area is None:
        return
    speckle = area.window.cloud(random, 0.7) + 0.8 * area.window.cloud(random, 3.0)
    spots = np.clip(speckle - 0.5, 0, 1.2) * area.share
    haze = area.share * np.clip(0.5 + 0.3 * area.window.cloud(random, 6.0), 0, 1)
    amount = (mark.strength * (0.5 * spots + 0.25 * haze)).astype(np.float32)
    hue = 0.5 + 0.5 * np.tanh(area.window.cloud(random, 8.0))[:, :, None]
    tint = hue * colour(0.85, 1.05, 0.8) + (1 - hue) * colour(0.4, 0.65, 1.2)
    sheet.stain[area.part] += (0.75 * amount)[:, :, None] * tint.astype(np.float32)
    sheet.thickness[area.part] *= 1 - 0.10 * amount
    _quench(sheet, area.part, 1.1 * amount)


def active_mould(sheet: Sheet, mark: Mark, points: Points, random: np.random.Generator) -> None:
    """Living colonies: round, furry, grey-green to white, standing above the sheet."""
    old_mould(sheet, Mark(mark.term, mark.points, mark.side, 0.4 * mark.strength), points, random)
    area = soft_area(sheet, points, 0.5)
    if area is None:
        return
    fur = np.zeros(area.window.shape, dtype=np.float32)
    for x, y in _scattered(area, random, max(8, round(26 * mark.strength))):
        gx, gy = area.window.grid()
        size = random.uniform(0.7, 2.8)
        distance = np.hypot(gx - x, gy - y)
        fur = np.maximum(fur, np.clip(1.2 - distance / size, 0, 1) ** 0.8)
    fur = (fur * (0.55 + 0.45 * np.tanh(area.window.cloud(random, 0.35) + 0.6))).astype(np.float32)
    part, side = area.part, mark.side
    fuzz = fur * (0.16 + 0.05 * area.window.cloud(random, 0.4))
    sheet.relief[side][part] += fuzz.astype(np.float32)
    covered = np.clip(fur, 0, 1)[:, :, None]
    sheet.media[side][part] = sheet.media[side][part] * (
        1 - 0.7 * covered
    ) + 0.62 * covered * colour(1.0, 0.82, 0.95)
    sheet.emission[side][part] += (0.10 * fur)[:, :, None] * colour(0.5, 0.9, 0.8)
    sheet.quench[side][part] += 0.35 * fur
    sheet.gloss[side][part] *= 1 - 0.9 * np.clip(fur, 0, 1)


STAMPS = {
    "foxing": foxing,
    "tideline": tideline,
    "water-stain": tideline,
    "mat-burn": mat_burn,
    "light-darkening": light_darkening,
    "overall-darkening": overall_darkening,
    "local-stain": local_stain,
    "oil-stain": oil_stain,
    "adhesive-stain": adhesive_stain,
    "old-mould": old_mould,
    "active-mould": active_mould,
}
