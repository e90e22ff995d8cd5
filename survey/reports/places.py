"""Where on the sheet an observation was marked or outlined, and which photographs know it."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from survey.examination.models import Observation, Photograph
from survey.reading.models import Alignment, LaterPlacing
from survey.reading.placement import Lie, as_numbers
from survey.reports.drawing import through


def by_scale(photographs: Iterable[Photograph], lies: Mapping[UUID, Lie]) -> set[UUID]:
    """The keys of those that were placed by a scale alone, or by way of one that was: it is known
    how large the sheet is on them, but not where."""
    photographs = list(photographs)
    later = {
        one.photograph_id: one for one in LaterPlacing.objects.filter(photograph__in=photographs)
    }

    def placing_of(photograph: Photograph) -> dict[str, Any] | None:
        """A placing at the desk counts before the record's own."""
        stands = later.get(photograph.pk)
        found: dict[str, Any] | None = stands.placing if stands else photograph.placing
        return found

    own = {one.pk for one in photographs if (placing_of(one) or {}).get("kind") == "scale"}
    through = Alignment.objects.filter(photograph__in=photographs, onto__in=own)
    return own | {
        key
        for key in through.values_list("photograph_id", flat=True)
        if key in lies and lies[key].aligned
    }


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
