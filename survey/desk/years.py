"""An object through the years: its signed examinations, and each place that was seen on them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.catalogue.models import Object
from survey.examination.models import Examination, Measurement, Observation, Photograph
from survey.examination.queries import examinations_in_full
from survey.examination.states import Link, Place, Sighting, places_through_time
from survey.examination.trend import Trend, Value, trend_of
from survey.reading.models import SamePlace
from survey.reading.placement import size_of
from survey.reading.queries import lies_among, said_of_places
from survey.reports.pictures import Plate, plates_of, upright_sizes
from survey.reports.places import places_of
from survey.reports.words import value_in_words

SEVERITY = "severity"


@dataclass(frozen=True)
class State:
    """One signed examination. ``number`` counts from 1, the earliest first."""

    number: int
    examination: Examination
    plates: list[Plate]
    damages: int


@dataclass(frozen=True)
class Cell:
    """One place on one examination, in words; ``observation`` is None where none was noted."""

    words: str
    observation: Observation | None = None


@dataclass(frozen=True)
class Series:
    """Measurements of one place in time.

    what    what was measured; unit: mm or mm²
    """

    what: str
    unit: str
    values: tuple[Value, ...]
    trend: Trend | None


@dataclass(frozen=True)
class Joined:
    """Why two observations were taken for one place, and what a person said of them."""

    link: Link
    before: Observation
    after: Observation
    said: SamePlace | None


@dataclass(frozen=True)
class Followed:
    """One place through the years. ``cells``: one for each state."""

    number: int
    name: str
    side: str
    cells: list[Cell]
    joined: list[Joined]
    series: list[Series]
    first: Observation
    last: Observation


@dataclass(frozen=True)
class Years:
    states: list[State]
    followed: list[Followed]
    parted: list[SamePlace]


def years_of(item: Object) -> Years:
    """In a fixed number of queries, whatever the number of examinations."""
    examinations = list(
        examinations_in_full()
        .filter(object=item, signed_at__isnull=False)
        .order_by("started_at", "id")
    )
    plates = plates_of([one.pk for one in examinations])
    said = said_of_places(item)
    observations = {
        one.pk: one for examination in examinations for one in examination.observations.all()
    }
    places = places_through_time(
        _sightings(examinations, plates),
        {frozenset((one.before_id, one.after_id)): one.is_same for one in said},
    )
    pairs = {(one.before_id, one.after_id): one for one in said}
    return Years(
        [
            State(
                number,
                one,
                plates.get(one.pk, []),
                sum(seen.nature == Observation.Nature.DAMAGE for seen in one.observations.all()),
            )
            for number, one in enumerate(examinations, start=1)
        ],
        [
            _followed(number, place, examinations, observations, pairs)
            for number, place in enumerate(places, start=1)
        ],
        [
            one
            for one in said
            if not one.is_same and {one.before_id, one.after_id} <= set(observations)
        ],
    )


def _sightings(
    examinations: Sequence[Examination], plates: Mapping[Any, list[Plate]]
) -> Iterable[Sighting]:
    every = [plate for one in examinations for plate in plates.get(one.pk, [])]
    photographs: list[Photograph] = [plate.photograph for plate in every]
    lies = lies_among(photographs)
    marked = {
        UUID(seen.mark["photograph"])
        for one in examinations
        for seen in one.observations.all()
        if seen.mark and not seen.region
    }
    sizes = upright_sizes(plate for plate in every if plate.photograph.pk in marked)
    last = next((size for one in reversed(examinations) if (size := size_of(one))), None)
    for state, one in enumerate(examinations):
        own = size_of(one)
        # Two rulers never agree: all places are told on the sheet as it was measured last.
        across, down = (
            (last[0] / own[0], last[1] / own[1]) if own is not None and last else (1.0, 1.0)
        )
        for seen in sorted(one.observations.all(), key=lambda row: (row.term.order, str(row.pk))):
            points = [(x * across, y * down) for x, y in places_of(seen, lies, sizes)]
            yield Sighting(seen.pk, state, seen.term_id, seen.term.name, seen.side, points)


def _followed(
    number: int,
    place: Place,
    examinations: Sequence[Examination],
    observations: Mapping[Any, Observation],
    pairs: Mapping[tuple[Any, Any], SamePlace],
) -> Followed:
    seen = [observations[one.key] for one in place.sightings]
    cells = []
    for state, examination in enumerate(examinations):
        sighting = place.of_state(state)
        if sighting is not None:
            one = observations[sighting.key]
            cells.append(Cell(severity_in_words(one, examination), one))
        else:
            cells.append(Cell(_absent(seen[0].side, examination)))
    return Followed(
        number,
        seen[-1].term.name,
        seen[-1].side,
        cells,
        [
            Joined(
                link,
                observations[link.before],
                observations[link.after],
                pairs.get((link.before, link.after)),
            )
            for link in place.links
        ],
        series_of([(examinations[one.state], observations[one.key]) for one in place.sightings]),
        seen[0],
        seen[-1],
    )


def severity_in_words(observation: Observation, examination: Examination) -> str:
    """``Moderate``; as amended since, with what was signed beside it."""
    if observation.nature == Observation.Nature.FEATURE:
        return "Feature, not damage"
    signed = observation.get_severity_display() if observation.severity else "Severity not said"
    amended = [
        one
        for one in examination.amendments.all()
        if one.subject == f"observation:{observation.pk}" and one.field == SEVERITY
    ]
    if not amended:
        return signed
    latest = max(amended, key=lambda one: one.signed_at)
    return f"{value_in_words('observation', SEVERITY, latest.after)}, amended from {signed.lower()}"


def _absent(side: str, examination: Examination) -> str:
    if side == "verso" and examination.verso_seen == Examination.VersoSeen.NO:
        return "Verso not seen"
    if examination.nothing_seen:
        return "Looked, no damage seen"
    return "Not noted"


def series_of(seen: Sequence[tuple[Examination, Observation]]) -> list[Series]:
    """Of one place: what was measured of it, in time.

    Measurements with the same words belong together; where no examination has two of a unit, all
    of that unit do, whatever they were called.
    """
    found: list[Series] = []
    for unit in Measurement.Unit:
        rows = [
            (examination, row)
            for examination, observation in seen
            for row in examination.measurements.all()
            if row.observation_id == observation.pk and row.unit == unit
        ]
        counts = [examination.pk for examination, _ in rows]
        together = len(counts) == len(set(counts))
        groups: dict[str, list[tuple[Examination, Measurement]]] = {}
        for examination, row in rows:
            groups.setdefault("" if together else row.what.casefold(), []).append(
                (examination, row)
            )
        for group in groups.values():
            values = tuple(
                Value(examination.started_at, row.value, row.uncertainty)
                for examination, row in group
            )
            found.append(Series(group[-1][1].what, str(unit.label), values, trend_of(values)))
    return found
