"""What is really there: kept beside each picture, for tests to check against."""

import itertools
from typing import Any

from survey.demo.sheet.camera import SCALE_MM, Camera, frame_of, homography
from survey.demo.sheet.geometry import Points, bounds, mirrored, rectangle, ribbon
from survey.demo.sheet.recipe import Mark, SheetRecipe, Side
from survey.demo.sheet.structure import Sheet
from survey.demo.sheet.watermarks import wires

# Terms told by a line; how far to each side of it the mark is taken to reach, mm.
LINE_REACH_MM = {
    "tear": 1.5,
    "handling-crease": 2.0,
    "creasing": 2.0,
    "soft-fold": 3.0,
    "hard-fold": 1.5,
    "scratch": 0.8,
}


def region_of(mark: Mark, width_mm: float, height_mm: float) -> Points:
    """The outline of a mark, mm, in the frame of its own side, kept within the sheet."""
    reach = LINE_REACH_MM.get(mark.term)
    outline = mark.points if reach is None else ribbon(mark.points, reach)
    return tuple((min(max(x, 0.0), width_mm), min(max(y, 0.0), height_mm)) for x, y in outline)


def features(recipe: SheetRecipe) -> list[Mark]:
    """What the making alone put there: laid and chain lines, watermark, deckle."""
    whole = rectangle(0, 0, recipe.width_mm, recipe.height_mm)
    found = []
    if recipe.make == "laid":
        found += [Mark("laid-lines", whole), Mark("chain-lines", whole)]
        if recipe.chain_shadow > 0.25:
            found.append(Mark("chain-shadows", whole))
    if recipe.watermark is not None:
        points = [point for wire in wires(recipe.watermark) for point in wire]
        found.append(Mark("watermark", rectangle(*bounds(points))))
    if recipe.deckle:
        found.append(Mark("deckle-edge", whole))
    return found


def truth_of(sheet: Sheet, side: Side = "recto", camera: Camera | None = None) -> dict[str, Any]:
    """All that a measurement of a picture could hope to find, as plain numbers for JSON.

    homography        nine numbers, row by row: picture pixels to mm on the side seen
    chain_offsets_mm  of each chain line: distance from the recto's origin along its normal
    laid_per_cm       null for wove paper
    regions           every mark: term, side it is told from, outline in mm on that side, and
                      its outline on the side that this picture shows
    scale_mm          the two ends of the scale's bar, mm on the side seen
    """
    recipe = sheet.recipe
    camera = camera or Camera()
    size = (recipe.width_mm, recipe.height_mm)
    frame = frame_of(size, sheet.shape, sheet.px_per_mm, side, camera)
    matrix = homography(frame, camera)
    start_x, start_y = frame.scale_start_mm
    regions = []
    for mark in (*features(recipe), *recipe.marks):
        outline = region_of(mark, *size)
        regions.append(
            {
                "term": mark.term,
                "side": mark.side,
                "strength": mark.strength,
                "outline_mm": outline,
                "seen_at_mm": outline if mark.side == side else mirrored(outline, size[0]),
            }
        )
    offsets = recipe.chain_offsets_mm()
    return {
        "recipe": recipe.as_dict(),
        "side": side,
        "px_per_mm": sheet.px_per_mm,
        "homography": [float(value) for value in matrix.reshape(-1)],
        "sheet_mm": size,
        "laid_per_cm": recipe.laid_per_cm if recipe.make == "laid" else None,
        "chain_angle_deg": recipe.chain_angle_deg if recipe.make == "laid" else None,
        "chain_offsets_mm": offsets,
        "chain_intervals_mm": [b - a for a, b in itertools.pairwise(offsets)],
        "scale_mm": [(start_x, start_y), (start_x + SCALE_MM, start_y)],
        "regions": regions,
    }
