"""Watermarks as an examiner notes them, and their matches in repertories that do not exist."""

import math
from collections.abc import Sequence

from survey.demo.museum.keys import key
from survey.demo.sheet.geometry import bounds, rectangle
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.recipe import Watermark as Figure
from survey.demo.sheet.watermarks import wires
from survey.examination.models import Examination, Watermark

REPERTORY = "Marks of the Elder mills"
PLACES = ("Aldermere", "Saint Brannoc")


def watermarks_of(sheets: Sequence[tuple[SheetRecipe, Examination]]) -> list[Watermark]:
    """A row for each of these sheets that has a watermark.

    The first ones were looked up in a repertory: one agrees with its object's date, the next
    does not.
    """
    rows: list[Watermark] = []
    for number, (recipe, examination) in enumerate(sheets):
        if recipe.watermark is not None:
            row = _measured(number, recipe, recipe.watermark, examination)
            _look_up(row, len(rows), recipe)
            rows.append(row)
    return rows


def _measured(
    number: int, recipe: SheetRecipe, figure: Figure, examination: Examination
) -> Watermark:
    left, top, right, bottom = bounds(point for wire in wires(figure) for point in wire)
    across = abs(math.sin(math.radians(recipe.chain_angle_deg))) > 0.7
    low, high = (top, bottom) if across else (left, right)
    chains = recipe.chain_offsets_mm()
    before = max((at for at in chains if at <= low), default=None)
    after = min((at for at in chains if at >= high), default=None)
    random = stream(recipe.seed, "watermark, measured")

    def measured(value: float) -> float:
        return round(max(0.0, value + random.normal(0, 0.4)), 1)

    row = Watermark(
        id=key("watermark", number),
        examination=examination,
        motif=figure.motif.capitalize(),
        seen_from="mould" if recipe.mould_side == "recto" else "felt",
        region={
            "kind": "polygon",
            "points": [[x, y] for x, y in rectangle(left, top, right, bottom)],
        },
        width_mm=measured((bottom - top) if across else (right - left)),
        height_mm=measured((right - left) if across else (bottom - top)),
        chains_within=sum(low < at < high for at in chains),
    )
    if before is not None and after is not None:
        row.to_left_chain_mm = measured(low - before)
        row.to_right_chain_mm = measured(after - high)
        row.chain_interval_mm = measured(after - before)
    return row


def _look_up(row: Watermark, place: int, recipe: SheetRecipe) -> None:
    item = row.examination.object
    year = {0: item.earliest_year, 1: (item.latest_year or 0) + 60}.get(place)
    if year is not None:
        random = stream(recipe.seed, "watermark, looked up")
        row.repertory = REPERTORY
        row.repertory_number = str(random.integers(100, 900))
        row.repertory_place = PLACES[place]
        row.repertory_from_year = year
        row.repertory_to_year = year + 6
        row.match = "variant"
