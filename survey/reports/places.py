"""Where on the sheet an observation was marked or outlined."""

from collections.abc import Mapping
from uuid import UUID

from survey.examination.models import Observation
from survey.reading.placement import Lie, as_numbers
from survey.reports.drawing import through


def placed_on_sheet(lies: Mapping[UUID, Lie]) -> dict[UUID, Lie]:
    """Without those of which it is known how large the sheet is on them, but not where."""
    return {key: lie for key, lie in lies.items() if not lie.by_scale}


def places_of(
    observation: Observation, lies: Mapping[UUID, Lie], sizes: Mapping[UUID, tuple[int, int]]
) -> list[list[float]]:
    """An outline in sheet mm on its side, or the one point that was marked on a photograph;
    none when nobody said, or the marked photograph lies nowhere."""
    if observation.region:
        points: list[list[float]] = observation.region["points"]
        return points
    mark = observation.mark
    if mark is None:
        return []
    key = UUID(mark["photograph"])
    if key not in lies or key not in sizes:
        return []
    width, height = sizes[key]
    at = (mark["x"] * width, mark["y"] * height)
    return [list(through(as_numbers(lies[key].matrix), at))]
