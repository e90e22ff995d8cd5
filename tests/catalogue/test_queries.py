"""Places as paths and as a walk, and finding objects."""

import pytest

from survey.catalogue import queries
from survey.catalogue.models import Location
from tests.factories import LocationFactory, ObjectFactory, location_chain

pytestmark = pytest.mark.django_db


@pytest.fixture
def store() -> dict[str, Location]:
    """A store with two cabinets; the second is passed first."""
    room = location_chain("Port Ellery", "Store", "Room 2")
    last = LocationFactory(parent=room, kind="unit", name="Cabinet A", order=2)
    first = LocationFactory(parent=room, kind="unit", name="Cabinet B", order=1)
    return {
        "room": room,
        "last": last,
        "first": first,
        "shelf": LocationFactory(parent=first, name="Shelf 1", order=1),
        "annexe": location_chain("Annexe"),
    }


def test_a_path_names_every_place_from_the_site_down(store: dict[str, Location]) -> None:
    path = "Port Ellery › Store › Room 2 › Cabinet B › Shelf 1"
    assert queries.location_paths()[store["shelf"].pk] == path
    assert queries.location_path(store["shelf"]) == path


def test_a_walk_passes_each_place_before_what_it_holds_and_by_its_order(
    store: dict[str, Location],
) -> None:
    assert [(place.name, depth) for place, depth in queries.walk()] == [
        ("Annexe", 0),
        ("Port Ellery", 0),
        ("Store", 1),
        ("Room 2", 2),
        ("Cabinet B", 3),
        ("Shelf 1", 4),
        ("Cabinet A", 3),
    ]


def test_the_tree_takes_one_query(store: dict[str, Location], django_assert_num_queries) -> None:
    with django_assert_num_queries(1):
        queries.location_paths()


def test_a_deleted_place_is_left_out_of_the_walk(store: dict[str, Location]) -> None:
    Location.objects.filter(pk=store["first"].pk).update(deleted_at="2031-05-01T12:00Z")
    names = [place.name for place, _ in queries.walk()]
    assert "Cabinet B" not in names and "Shelf 1" not in names


def test_places_within_are_the_place_and_all_below_it(store: dict[str, Location]) -> None:
    below = queries.places_within([store["first"].pk, "not a key"])
    assert set(below) == {store["first"].pk, store["shelf"].pk}


def test_search_finds_every_word_wherever_it_stands() -> None:
    found = ObjectFactory(title="Study of reeds", maker="Ottoline Marsh", location=None)
    ObjectFactory(title="Study of waves", maker="Ottoline Marsh")
    assert list(queries.search_objects("marsh  REEDS")) == [found]
    assert not queries.search_objects("reeds quint").exists()


def test_search_puts_the_exact_accession_number_first() -> None:
    ObjectFactory(accession_number="A.PE.1")
    exact = ObjectFactory(accession_number="PE.1")
    ObjectFactory(accession_number="PE.10")
    assert queries.search_objects("pe.1")[0] == exact


def test_search_leaves_out_deleted_objects() -> None:
    ObjectFactory(title="Reeds", deleted_at="2031-05-01T12:00Z")
    assert not queries.search_objects("reeds").exists()
