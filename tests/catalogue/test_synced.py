"""What tablets carry of the catalogue, and the checks that hold for every edit of it."""

from typing import Any

import pytest

from survey.catalogue.models import Object
from survey.sync.services import Refused, log_many, record_change
from tests.factories import LocationFactory, ObjectFactory, location_chain
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def carried(tablet: WireTablet, entity: str) -> set[str]:
    return {row["id"] for row in tablet.pull() if row["entity"] == entity and not row["deleted"]}


def test_a_tablet_can_change_neither_objects_nor_locations() -> None:
    tablet, item = WireTablet(), ObjectFactory()
    for entity, key in [("object", item.pk), ("location", item.location_id)]:
        assert (
            "A tablet cannot change" in tablet.refusal(entity, key, title="Mine", name="Mine")[""]
        )


def test_a_scope_holds_the_objects_below_its_places_and_those_outside_the_tree() -> None:
    tablet = WireTablet()
    room = location_chain("Port Ellery", "Store", "Room 2")
    below = ObjectFactory(location=LocationFactory(parent=room))
    outside = ObjectFactory(location=None, off_site_place="Framer")
    elsewhere = ObjectFactory()
    log_many("object", [below, outside, elsewhere], None)
    assert carried(tablet, "object") == {str(one.pk) for one in (below, outside, elsewhere)}
    scope = {"locations": [str(room.pk)]}
    tablet.request("put", "/api/sync/scope", scope, "application/json")
    assert carried(tablet, "object") == {str(below.pk), str(outside.pk)}


def test_every_value_goes_over_the_wire_as_json_has_it() -> None:
    item = ObjectFactory()
    log_many("object", [item], None)
    [row] = [row for row in WireTablet().pull() if row["entity"] == "object"]
    assert row["fields"]["location"] == str(item.location_id)
    assert row["fields"]["width_mm"] == 310.0
    assert set(row["fields"]) >= {"accession_number", "off_site_place", "value_band", "mounts"}


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"width_mm": 0}, "width_mm", "A size is at least 1 mm"),
        ({"height_mm": 10001}, "height_mm", "A size is at most 10000 mm"),
        ({"width_mm": "nan"}, "width_mm", "This is not a number"),
        ({"width_mm": "wide"}, "width_mm", "This is not a number"),
        ({"latest_year": 1869}, "latest_year", "The latest year, 1869, is before the earliest"),
        ({"earliest_year": "old"}, "earliest_year", "A year is a whole number"),
        ({"earliest_year": 8000, "latest_year": None}, "earliest_year", "8000 lies ahead"),
        ({"title": "  "}, "title", "This may not stay empty"),
        ({"studio": "attic"}, "studio", "“attic” is not one of the choices"),
        ({"accession_number": "taken"}, "accession_number", "Another object has this accession"),
        ({"location": "nowhere"}, "location", "No record has the key “nowhere”"),
    ],
)
def test_an_edit_at_the_desk_is_checked(fields: dict[str, Any], field: str, said: str) -> None:
    ObjectFactory(accession_number="taken")
    item = ObjectFactory()
    with pytest.raises(Refused) as refusal:
        record_change("object", item, fields, None)
    assert said in refusal.value.reasons[field]
    assert Object.objects.get(pk=item.pk).width_mm == 310.0


def test_a_place_has_one_name_among_its_siblings_and_is_not_within_itself() -> None:
    room = location_chain("Port Ellery", "Store", "Room 2")
    store = room.parent
    assert store is not None
    LocationFactory(parent=store, name="Room 3")
    with pytest.raises(Refused, match="“Room 3” already stands there"):
        record_change("location", room, {"name": "Room 3"}, None)
    with pytest.raises(Refused, match="cannot stand within itself"):
        record_change("location", store, {"parent": room}, None)
    record_change("location", room, {"name": "Room 2", "order": 5}, None)
    room.refresh_from_db()
    assert room.order == 5
