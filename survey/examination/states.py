"""An object's examinations as states in time: which observations tell of one and the same place.

Two observations of following examinations are taken for the same when they have one term, lie on
one side, and overlap or lie near each other. A person may say otherwise, and that counts first.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from survey.imaging.outlines import apart_mm, overlap

# Outlines that come as near as this may be one place: they are drawn by hand, and sheets were
# measured by different rulers. Common practice, no source.
NEAR_MM = 8.0

Points = Sequence[Sequence[float]]


@dataclass(frozen=True)
class Sighting:
    """One observation, as far as matching asks.

    key     of the observation
    state   number of its examination, in time order from 0
    points  an outline or one point in mm of one sheet; empty when nobody said where
    """

    key: Hashable
    state: int
    term: str
    term_name: str
    side: str
    points: Points = ()


@dataclass(frozen=True)
class Link:
    """Why an observation was taken for the same place as one before it.

    is_said  a person said so
    """

    before: Hashable
    after: Hashable
    sentence: str
    is_said: bool = False


@dataclass
class Place:
    """One place through the years, its observations in time order."""

    sightings: list[Sighting]
    links: list[Link] = field(default_factory=list)

    def of_state(self, state: int) -> Sighting | None:
        return next((one for one in self.sightings if one.state == state), None)


@dataclass(frozen=True)
class _Candidate:
    """A pair that may be one place; the nearest first, then those that overlap most."""

    place: int
    sighting: Sighting
    apart_mm: float
    overlap: float
    sentence: str

    @property
    def rank(self) -> tuple[float, float]:
        return self.apart_mm, -self.overlap


def places_through_time(
    sightings: Iterable[Sighting], said: Mapping[frozenset[Hashable], bool] | None = None
) -> list[Place]:
    """The places, in order of when each was seen first.

    said  whether two observations are one place, by their two keys, where a person said so
    """
    said = said or {}
    places: list[Place] = []
    by_state: dict[int, list[Sighting]] = {}
    for one in sightings:
        by_state.setdefault(one.state, []).append(one)
    for state in sorted(by_state):
        rest = list(by_state[state])
        taken: set[int] = set()
        for one in list(rest):
            at = _said_same(one, places, said)
            if at is not None and at not in taken:
                place = places[at]
                last = place.sightings[-1]
                place.links.append(Link(last.key, one.key, "A person said so.", is_said=True))
                place.sightings.append(one)
                taken.add(at)
                rest.remove(one)
        for found in sorted(_candidates(places, taken, rest, said), key=lambda one: one.rank):
            if found.place in taken or found.sighting not in rest:
                continue
            place = places[found.place]
            place.links.append(Link(place.sightings[-1].key, found.sighting.key, found.sentence))
            place.sightings.append(found.sighting)
            taken.add(found.place)
            rest.remove(found.sighting)
        places += [Place([one]) for one in rest]
    return places


def _said_same(
    one: Sighting, places: Sequence[Place], said: Mapping[frozenset[Hashable], bool]
) -> int | None:
    return next(
        (
            number
            for number, place in enumerate(places)
            if any(said.get(frozenset((one.key, other.key))) for other in place.sightings)
        ),
        None,
    )


def _candidates(
    places: Sequence[Place],
    taken: set[int],
    rest: Sequence[Sighting],
    said: Mapping[frozenset[Hashable], bool],
) -> Iterable[_Candidate]:
    for number, place in enumerate(places):
        last = place.sightings[-1]
        for one in rest:
            if number in taken or (one.term, one.side) != (last.term, last.side):
                continue
            if any(said.get(frozenset((one.key, other.key))) is False for other in place.sightings):
                continue
            if one.points and last.points:
                found = _by_place(number, last, one)
            else:
                found = _without_place(number, last, one, places, rest)
            if found is not None:
                yield found


def _by_place(number: int, last: Sighting, one: Sighting) -> _Candidate | None:
    apart = apart_mm(last.points, one.points)
    if apart > NEAR_MM:
        return None
    alike = f"Both are {_named(one)}"
    if apart > 0:
        near = f"they lie {max(1, round(apart))} mm apart"
        return _Candidate(number, one, apart, 0.0, f"{alike}, and {near}.")
    share = overlap(last.points, one.points)
    if len(one.points) < 3 or len(last.points) < 3:
        return _Candidate(number, one, 0.0, share, f"{alike}, and one was marked within the other.")
    return _Candidate(
        number, one, 0.0, share,
        f"{alike}, and {100 * share:.0f} % of the smaller outline lies in the larger.",
    )  # fmt: skip


def _without_place(
    number: int, last: Sighting, one: Sighting, places: Sequence[Place], rest: Sequence[Sighting]
) -> _Candidate | None:
    """Where an outline is missing, only what is the only one of its term on its side."""
    alike = (one.term, one.side)
    before = [
        place for place in places if (place.sightings[-1].term, place.sightings[-1].side) == alike
    ]
    if len(before) > 1 or sum((other.term, other.side) == alike for other in rest) > 1:
        return None
    return _Candidate(
        number, one, NEAR_MM, 0.0,
        f"Both are {_named(one)} and the only one there; not both say where.",
    )  # fmt: skip


def _named(one: Sighting) -> str:
    return f"“{one.term_name}” on the {one.side}"
