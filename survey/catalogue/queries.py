"""Reads the catalogue: places as a tree and as a walk, and objects by what a person types."""

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from survey.catalogue.models import Location, Object

STEP = " › "

# Places with their depth.
Passed = list[tuple[Location, int]]


def walk() -> Passed:
    """Every place with its depth, in the order a walk passes them: each before what it holds."""
    below: dict[UUID | None, list[Location]] = defaultdict(list)
    for place in Location.objects.filter(deleted_at=None):
        below[place.parent_id].append(place)
    passed: Passed = []
    ahead = [(place, 0) for place in reversed(below[None])]
    while ahead:
        place, depth = ahead.pop()
        passed.append((place, depth))
        ahead.extend((child, depth + 1) for child in reversed(below[place.pk]))
    return passed


def places_within(keys: Iterable[UUID | str], passed: Passed | None = None) -> list[UUID]:
    """The keys of these places and of all that they hold. Unknown keys are passed over.

    passed  what ``walk`` gave, where it was walked before
    """
    chosen = {str(key) for key in keys}
    within: list[UUID] = []
    deep: int | None = None
    for place, depth in passed or walk():
        if deep is not None and depth <= deep:
            deep = None
        if deep is None and str(place.pk) in chosen:
            deep = depth
        if deep is not None:
            within.append(place.pk)
    return within


def location_paths(passed: Passed | None = None) -> dict[UUID, str]:
    """Every place in full: “site › building › room › unit › shelf”.

    passed  what ``walk`` gave, where it was walked before
    """
    paths: dict[UUID, str] = {}
    for place, _ in passed or walk():
        above = f"{paths[place.parent_id]}{STEP}" if place.parent_id else ""
        paths[place.pk] = above + place.name
    return paths


def location_path(place: Location) -> str:
    """One place in full, walking up from it."""
    names = [place.name]
    while place.parent is not None:
        place = place.parent
        names.append(place.name)
    return STEP.join(reversed(names))


def search_objects(text: str) -> "QuerySet[Object]":
    """Objects that have every word in the accession number, title, maker, date or off-site place.

    An object whose accession number is exactly the text comes first.
    """
    found = Object.objects.filter(deleted_at=None).select_related("location")
    for word in text.split():
        found = found.filter(
            Q(accession_number__icontains=word)
            | Q(title__icontains=word)
            | Q(maker__icontains=word)
            | Q(date_text__icontains=word)
            | Q(off_site_place__icontains=word)
        )
    exact_first = Case(
        When(accession_number__iexact=text.strip(), then=Value(0)),
        default=Value(1),
        output_field=IntegerField(),
    )
    return found.order_by(exact_first, "accession_number")
