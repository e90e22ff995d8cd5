"""The photograph that shows an observation, with the place ringed or outlined on it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.examination.models import Observation
from survey.reports.drawing import inverse, through
from survey.reports.pictures import RING_SMALL, Plate
from survey.triage.gather import Standing


@dataclass(frozen=True)
class Evidence:
    """One observation, and where it can be seen.

    plate    a photograph that shows it; None where there is none of its side
    ring     (x, y, radius) on it in its pixels; None where no place was marked
    outline  the region's edge on it, as SVG's points; "" where none was drawn
    """

    observation: Observation
    plate: Plate | None
    ring: tuple[float, float, float] | None = None
    outline: str = ""

    @property
    def is_shown(self) -> bool:
        return self.plate is not None and self.plate.is_here and not self.plate.trouble


def evidence_of(
    standings: Iterable[Standing], plates: Mapping[Any, list[Plate]]
) -> dict[str, Evidence]:
    """By the key of each observation, as the rule's causes name it.

    plates  by the key of their examination; see pictures.plates_of
    """
    return {
        str(observation.pk): _evidence(observation, plates.get(observation.examination_id, []))
        for standing in standings
        for observation in standing.observations
    }


def _evidence(observation: Observation, plates: list[Plate]) -> Evidence:
    mark = observation.mark
    if mark:
        marked = next((one for one in plates if str(one.photograph.pk) == mark["photograph"]), None)
        if marked is not None:
            width, height = marked.size
            radius = 2 * RING_SMALL * max(width, height)
            return Evidence(observation, marked, (mark["x"] * width, mark["y"] * height, radius))
    plate = _best(observation, plates)
    return Evidence(observation, plate, outline=_outline(observation, plate))


def _best(observation: Observation, plates: list[Plate]) -> Plate | None:
    """Of its side: under the lights that show it, one that is here and lies on the sheet first."""

    def order(plate: Plate) -> tuple[bool, bool, bool]:
        photograph = plate.photograph
        return (
            not plate.is_here or bool(plate.trouble),
            photograph.light not in observation.lights,
            photograph.homography is None,
        )

    own = [plate for plate in plates if plate.photograph.side == observation.side]
    return min(own, key=order, default=None)


def _outline(observation: Observation, plate: Plate | None) -> str:
    region = observation.region
    if plate is None or not region or plate.photograph.homography is None:
        return ""
    try:
        to_pixels = inverse(plate.photograph.homography)
        points = [through(to_pixels, (x, y)) for x, y in region["points"]]
    except ZeroDivisionError:
        return ""
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def examinations_of(standings: Iterable[Standing]) -> set[UUID]:
    """All whose photographs may be asked for."""
    return {
        examination.pk
        for standing in standings
        for examination in (standing.examination, *standing.newer)
    }
