"""Which objects a survey is about, in which order, and how they fall into strata."""

import pytest

from survey.catalogue.models import Object
from survey.collection.design import CannotSample
from survey.collection.population import MOST_STRATA, Walk, natural, population_of
from tests.collection.store import place, small_store
from tests.factories import ObjectFactory

pytestmark = pytest.mark.django_db


def numbers(keys: tuple) -> list[str]:
    known = Object.objects.in_bulk(keys)
    return [known[key].accession_number for key in keys]


def test_objects_come_in_shelf_order_and_by_number_within_a_shelf() -> None:
    small_store(a_shelf=11)
    [stratum] = population_of(None, "", "").strata
    assert stratum.name == "All objects"
    expected = [f"{shelf}.{number}" for shelf in range(1, 5) for number in range(1, 12)]
    assert numbers(stratum.objects) == expected


def test_a_number_sorts_by_its_size() -> None:
    assert sorted(["1931.24.10", "1931.24.2", "PE.7", "1931.3"], key=natural) == [
        "1931.3",
        "1931.24.2",
        "1931.24.10",
        "PE.7",
    ]


def test_a_store_is_divided_by_room_by_chest_or_by_drawer() -> None:
    small_store()
    by_room = population_of(None, "", "room")
    assert [(one.name, one.size) for one in by_room.strata] == [
        ("West room", 20),
        ("East room", 20),
    ]
    # Both chests have the same name: the room tells them apart.
    by_chest = population_of(None, "", "unit")
    assert [one.name for one in by_chest.strata] == ["West room › Chest", "East room › Chest"]
    by_drawer = population_of(None, "", "shelf")
    assert by_drawer.strata[0].name == "West room › Chest › Drawer 1"
    assert [one.size for one in by_drawer.strata] == [10] * 4


def test_what_lies_in_a_room_itself_is_a_stratum_of_its_own() -> None:
    drawers = small_store()
    room = drawers[0].parent.parent
    ObjectFactory(location=room)
    assert [(one.name, one.size) for one in population_of(None, "", "unit").strata] == [
        ("Quay › West room", 1),
        ("West room › Chest", 20),
        ("East room › Chest", 20),
    ]
    assert population_of(None, "", "room").sizes == [21, 20]


def test_media_with_few_objects_are_put_together() -> None:
    small_store(a_shelf=5)
    for media in ("Etching ", "etching", "Red chalk", "", ""):
        ObjectFactory(media=media)
    strata = population_of(None, "", "medium").strata
    assert [(one.name, one.size) for one in strata] == [
        ("Etching", 22),
        ("Medium not said", 2),
        ("Other media", 1),
    ]


def test_a_branch_and_a_studio_narrow_it() -> None:
    drawers = small_store()
    ObjectFactory(location=drawers[0], studio="photographs")
    assert population_of(drawers[0].parent, "", "").sizes == [21]
    assert population_of(drawers[0].parent, "paper", "").sizes == [20]
    assert population_of(None, "photographs", "").sizes == [1]


def test_what_stands_nowhere_in_the_tree_is_counted_apart() -> None:
    drawers = small_store()
    ObjectFactory(location=None, off_site_place="Northmere Hall")
    ObjectFactory(location=None, off_site_place="Northmere Hall", studio="paintings")
    found = population_of(None, "paper", "")
    assert (found.sizes, found.away) == ([40], 1)
    assert population_of(drawers[0], "", "").away == 0


def test_deleted_objects_are_none() -> None:
    small_store()
    gone = Object.objects.get(accession_number="1.1")
    gone.deleted_at = "2026-01-01T00:00:00Z"
    gone.save()
    assert population_of(None, "", "").sizes == [39]


def test_an_empty_place_and_too_many_strata_are_said_in_a_sentence() -> None:
    empty = place("Empty room", "room")
    with pytest.raises(CannotSample, match="No objects stand there"):
        population_of(empty, "", "")
    for number in range(MOST_STRATA + 1):
        ObjectFactory(location=place(f"Shelf {number}", "shelf", empty, number))
    with pytest.raises(CannotSample, match="61 strata, and no more than 60"):
        population_of(empty, "", "shelf")


def test_the_walk_puts_what_stands_nowhere_last() -> None:
    [first, *_] = small_store()
    tree = Walk()
    assert tree.key(first.pk, "9") < tree.key(None, "1")
    assert tree.passes(first.pk) and not tree.passes(None)
