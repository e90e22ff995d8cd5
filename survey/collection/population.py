"""The objects that a survey is about, in the order a walk passes them, and its strata."""

import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from survey.catalogue.models import Location, Object
from survey.catalogue.queries import STEP, places_within, walk
from survey.collection.design import CannotSample
from survey.collection.models import CollectionSurvey

# More say nothing of each, and nobody reads them.
MOST_STRATA = 60
# Media with fewer objects are put together.
FEWEST_OF_A_MEDIUM = 10
OTHER_MEDIA = "Other media"
NO_MEDIUM = "Medium not said"

# How deep a place lies in the tree; a wall stands in a room like a rack.
DEPTHS = {"site": 0, "building": 1, "room": 2, "unit": 3, "wall": 3, "shelf": 4}

ShelfKey = tuple[int, tuple[tuple[int, int, str], ...]]


@dataclass(frozen=True)
class Stratum:
    """The keys of its objects are in shelf order."""

    name: str
    objects: tuple[UUID, ...]

    @property
    def size(self) -> int:
        return len(self.objects)


@dataclass(frozen=True)
class Population:
    """away: how many objects would belong to it, but stand nowhere in the tree."""

    strata: tuple[Stratum, ...]
    away: int

    @property
    def sizes(self) -> list[int]:
        return [stratum.size for stratum in self.strata]


class Walk:
    """The tree of places as it stands now, and where in its walk an object comes."""

    def __init__(self) -> None:
        self._places = [place for place, _ in walk()]
        self._by_key = {place.pk: place for place in self._places}
        self._number = {place.pk: number for number, place in enumerate(self._places)}

    def passes(self, location: UUID | None) -> bool:
        return location in self._number

    def key(self, location: UUID | None, accession_number: str) -> ShelfKey:
        """Sort by this for shelf order; within a shelf by accession number, 2 before 10."""
        last = len(self._places)
        number = last if location is None else self._number.get(location, last)
        return number, natural(accession_number)

    def above(self, location: UUID, depth: int) -> UUID:
        """The place that holds it at this depth; itself where it lies no deeper."""
        place = self._by_key[location]
        while DEPTHS[place.kind] > depth and place.parent_id in self._by_key:
            place = self._by_key[place.parent_id]
        return place.pk

    def path(self, location: UUID) -> tuple[str, ...]:
        """The names from the site down to the place."""
        place: Location | None = self._by_key[location]
        names: list[str] = []
        while place is not None:
            names.append(place.name)
            place = self._by_key.get(place.parent_id) if place.parent_id else None
        return tuple(reversed(names))


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts the numbers in a text by size: 1931.24.2 before 1931.24.10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", text)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)


def population_of(branch: Location | None, studio: str, divided_by: str) -> Population:
    """All living objects of a branch of the tree, or of all of it, and of a studio if one is said.

    Raises CannotSample when there are none, or when they fall into too many strata.
    """
    tree = Walk()
    rows = Object.objects.filter(deleted_at=None)
    if studio:
        rows = rows.filter(studio=studio)
    if branch is not None:
        rows = rows.filter(location__in=places_within([branch.pk]))
    standing: list[tuple[ShelfKey, UUID, UUID, str]] = []
    away = 0
    for key, accession, location, media in rows.values_list(
        "pk", "accession_number", "location_id", "media"
    ):
        if location is not None and tree.passes(location):
            standing.append((tree.key(location, accession), key, location, media.strip()))
        else:
            away += 1
    standing.sort()
    if divided_by == CollectionSurvey.DividedBy.MEDIUM:
        names = _media([media for *_, media in standing])
    elif divided_by:
        names = _places([location for _, _, location, _ in standing], tree, DEPTHS[divided_by])
    else:
        names = ["All objects"] * len(standing)
    members: dict[str, list[UUID]] = defaultdict(list)
    for name, (_, key, _, _) in zip(names, standing, strict=True):
        members[name].append(key)
    if not members:
        raise CannotSample("No objects stand there: choose another part of the store.")
    if len(members) > MOST_STRATA:
        raise CannotSample(
            f"That makes {len(members)} strata, and no more than {MOST_STRATA} can be told apart: "
            "divide the store less finely, or choose a smaller part of it."
        )
    return Population(
        tuple(
            Stratum(name, tuple(members[name]))
            for name in sorted(members, key=lambda name: _last(name, divided_by))
        ),
        away,
    )


def _last(name: str, divided_by: str) -> tuple[bool, str]:
    """Places stay in the order of the walk; media by name, those put together last."""
    if divided_by != CollectionSurvey.DividedBy.MEDIUM:
        return False, ""
    return name in (OTHER_MEDIA, NO_MEDIUM), name.casefold()


def _media(media: Sequence[str]) -> list[str]:
    """A stratum's name for each object: its medium, unless that has too few objects."""
    often = Counter(one.casefold() for one in media)
    spelt = {one.casefold(): one for one in reversed(media)}
    return [
        NO_MEDIUM
        if not one
        else spelt[one.casefold()]
        if often[one.casefold()] >= FEWEST_OF_A_MEDIUM
        else OTHER_MEDIA
        for one in media
    ]


def _places(locations: Sequence[UUID], tree: Walk, depth: int) -> list[str]:
    """A stratum's name for each object: the place at this depth that holds it."""
    holding = [tree.above(location, depth) for location in locations]
    names = _short_names({place: tree.path(place) for place in holding})
    return [names[place] for place in holding]


def _short_names(paths: dict[UUID, tuple[str, ...]]) -> dict[UUID, str]:
    """Each place by its own name, with as many of those above it as tell all apart."""
    names: dict[UUID, str] = {}
    for length in range(1, max(map(len, paths.values()), default=0) + 1):
        names = {place: STEP.join(path[-length:]) for place, path in paths.items()}
        if len(set(names.values())) == len(names):
            break
    return names
