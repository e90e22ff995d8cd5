"""How the places where a sheet differs grew, and those that an earlier examination had noted."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.changed_regions import ChangedRegion
from survey.imaging.followed import along, axis_of
from survey.imaging.growth import SURELY, Growth, NotMeasured, Together, growth_of
from survey.imaging.outlines import apart_mm, around

Points = NDArray[np.float64]

# A place that comes so near what was noted before is taken to belong to it, mm.
NEAR_MM = 2.0
# A line is outlined so far to either side, mm.
HALF_BREADTH_MM = 0.75
# A line that differs further than this from where it was followed was not followed rightly, mm.
ASIDE_MM = 4.0
NOT_FOLLOWED = (
    "The photographs differ further along this line than it could be followed, so how much longer "
    "it is was not measured. Measure it by hand."
)
# At its ends a difference fades, so it is longer or shorter than what is new by so much, mm.
FADES_MM = 3.0
OTHERWISE = (
    "The line was followed along another length than the photographs differ, so how much longer it "
    "is was not measured. Measure it by hand."
)
# An outline over more of the sheet than this share tells of the whole sheet, not of a place.
MOST_SHARE = 0.25


@dataclass(frozen=True)
class Noted:
    """What an earlier examination observed or measured.

    observation  its key; "" for a measurement that stands alone
    name         of the term, or what was measured
    points       of an outline or a line: sheet mm as they count now
    kind         "line" or "area"; None when its shape is to tell
    """

    observation: str
    name: str
    points: Points
    is_outline: bool
    kind: str | None

    @property
    def outline(self) -> Points:
        if self.is_outline:
            return self.points
        return np.array(around(self.points.tolist(), HALF_BREADTH_MM))


def places_of(
    pictures: Together,
    regions: Sequence[ChangedRegion],
    noted: Sequence[Noted],
    scale_share: float,
) -> list[dict[str, Any]]:
    """The regions as JSON holds them, then what was noted before and no region touches.

    Each has ``growth``: see ``told_of``; and ``noted`` when an earlier examination knew it.
    """
    places: list[dict[str, Any]] = [asdict(region) for region in regions]
    whole_mm2 = pictures.size_mm[0] * pictures.size_mm[1]
    known: dict[int, list[Noted]] = {}
    for one in noted:
        if cv2.contourArea(one.outline.astype(np.float32)) > MOST_SHARE * whole_mm2:
            continue
        outline = one.outline.tolist()
        at = next(
            (
                place
                for place, region in enumerate(regions)
                if apart_mm(outline, region.points) < NEAR_MM
            ),
            None,
        )
        if at is None:
            at = len(places)
            points = [[round(x, 2), round(y, 2)] for x, y in outline]
            places.append({"kind": one.kind or "area", "points": points, "words": one.name})
        known.setdefault(at, []).append(one)
    for at, place in enumerate(places):
        seeds = known.get(at, [])
        told = [_measured(pictures, one, scale_share) for one in seeds]
        best = next((i for i, one in enumerate(told) if "change" in one), 0)
        if seeds:
            place["noted"] = {
                "observation": seeds[best].observation,
                "name": seeds[best].name,
            }
        if at >= len(regions):
            place["growth"] = told[best]
        elif not told or _was_lost(told[best], regions[at]):
            anew = _measured_new(pictures, regions[at], scale_share)
            lost = told and "change" in told[best] and "change" not in anew
            place["growth"] = {"sentence": NOT_FOLLOWED} if lost else anew
        else:
            place["growth"] = told[best]
    return places


def _was_lost(growth: Mapping[str, Any], region: ChangedRegion) -> bool:
    """Whether it was not measured, or the line as followed leaves a part of the place that
    differs aside."""
    if "change" not in growth:
        return True
    if growth["kind"] != "line" or region.kind != "line":
        return False
    axis = along(axis_of(np.asarray(region.points))[0], 1.0)
    line = np.asarray(growth["points"])
    apart = np.hypot(*np.moveaxis(axis[:, None] - line[None], 2, 0)).min(axis=1)
    return bool(apart.max() > ASIDE_MM)


def _measured(pictures: Together, one: Noted, scale_share: float) -> dict[str, Any]:
    try:
        return told_of(
            growth_of(
                pictures,
                one.points,
                is_outline=one.is_outline,
                kind=one.kind,
                scale_share=scale_share,
            )
        )
    except NotMeasured as error:
        return {"sentence": str(error)}


def _measured_new(pictures: Together, region: ChangedRegion, scale_share: float) -> dict[str, Any]:
    try:
        growth = growth_of(
            pictures,
            region.points,
            is_outline=True,
            kind=region.kind,
            is_new=True,
            scale_share=scale_share,
        )
    except NotMeasured as error:
        return {"sentence": str(error)}
    return {"sentence": OTHERWISE} if _is_otherwise(growth, region) else told_of(growth)


def _is_otherwise(growth: Growth, region: ChangedRegion) -> bool:
    """Whether a line was followed along another length than the photographs differ along it: then
    something that was there before, or is beside it, was followed."""
    if growth.kind != "line" or region.length_mm is None or region.length_u_mm is None:
        return False
    u_mm = math.hypot(growth.change.uncertainty, region.length_u_mm)
    return abs(growth.change.value - region.length_mm) > FADES_MM + SURELY * u_mm


def told_of(growth: Growth) -> dict[str, Any]:
    """``{"kind", "earlier": [value, u] or None, "later", "change", "is_whole", "points"}``,
    in mm or mm²; see Growth."""
    pairs = {
        name: [round(one.value, 2), round(one.uncertainty, 2)] if one else None
        for name, one in (
            ("earlier", growth.earlier),
            ("later", growth.later),
            ("change", growth.change),
        )
    }
    points = [list(point) for point in growth.points]
    return {"kind": growth.kind, **pairs, "is_whole": growth.is_whole, "points": points}
