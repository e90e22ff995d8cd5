"""Edits made on the server go through the same log as those of tablets."""

import uuid
from datetime import UTC, datetime
from typing import Any

import pytest

from survey.catalogue.models import Object
from survey.examination.models import Visit
from survey.sync import log, services
from survey.sync.models import Change
from survey.sync.services import Refused
from tests.factories import (
    ExaminationFactory,
    LocationFactory,
    ObjectFactory,
    PersonFactory,
    VisitFactory,
)

pytestmark = pytest.mark.django_db


def test_an_edit_is_applied_and_logged() -> None:
    work, person = ObjectFactory(), PersonFactory()
    services.record_change("object", work, {"title": "Reeds at dusk"}, person)
    change = Change.objects.get()
    work.refresh_from_db()
    assert (work.title, work.revision) == ("Reeds at dusk", change.number)
    assert (change.entity, change.entity_id) == ("object", str(work.pk))
    assert (change.fields, change.person, change.device) == (
        {"title": "Reeds at dusk"},
        person,
        None,
    )


def test_it_brings_the_row_in_hand_up_to_date() -> None:
    work = ObjectFactory()
    Object.objects.update(maker="Somebody else")
    services.record_change("object", work, {"title": "Reeds at dusk"}, None)
    assert (work.title, work.maker) == ("Reeds at dusk", "Somebody else")


def test_it_takes_rows_and_dates_as_python_has_them() -> None:
    person, place = PersonFactory(), LocationFactory()
    started = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    visit = services.record_change(
        "visit",
        None,
        {"purpose": "bench", "name": "Bench", "location": place, "started_at": started},
        person,
    )
    assert isinstance(visit, Visit)
    assert (visit.person, visit.location, visit.started_at) == (person, place, started)
    assert Change.objects.get().fields["location"] == str(place.pk)


def test_a_refused_edit_alters_nothing() -> None:
    work = ObjectFactory(title="Reeds")
    with pytest.raises(Refused) as refusal:
        services.record_change("object", work, {"title": "", "width_mm": -5}, PersonFactory())
    assert set(refusal.value.reasons) == {"title", "width_mm"}
    work.refresh_from_db()
    assert (work.title, work.revision, Change.objects.count()) == ("Reeds", 0, 0)
    assert log.last_number() == 0


def test_a_signed_examination_is_closed_to_the_desk_as_well() -> None:
    with pytest.raises(Refused, match="amendment"):
        services.record_change(
            "examination", ExaminationFactory(signed=True), {"notes": "x"}, PersonFactory()
        )


def test_it_names_a_field_that_is_not_there() -> None:
    with pytest.raises(Refused, match="no field called “colour”"):
        services.record_change("object", ObjectFactory(), {"colour": "red"}, None)


def test_it_names_an_entity_that_is_not_there() -> None:
    with pytest.raises(LookupError, match="mummy"):
        services.record_change("mummy", None, {}, None)


def test_it_leaves_a_tombstone() -> None:
    visit = VisitFactory()
    services.record_change("visit", visit, {"deleted": True}, PersonFactory())
    visit.refresh_from_db()
    assert visit.deleted_at is not None


def test_many_rows_are_logged_with_a_number_each() -> None:
    services.record_change("object", ObjectFactory(), {"title": "Before"}, None)
    works = [ObjectFactory() for _ in range(3)]
    person = PersonFactory()
    services.log_many("object", works, person)
    changes = Change.objects.filter(person=person).order_by("number")
    assert [change.number for change in changes] == [2, 3, 4]
    for work, change in zip(works, changes, strict=True):
        work.refresh_from_db()
        assert (str(work.pk), work.revision) == (change.entity_id, change.number)
        assert change.fields["accession_number"] == work.accession_number
        assert change.fields["location"] == str(work.location.pk)
    assert "id" not in changes[0].fields


def test_two_thousand_rows_take_few_queries(django_assert_max_num_queries: Any) -> None:
    place = LocationFactory()
    works = Object.objects.bulk_create(
        Object(accession_number=f"PE.{n}", title="Reeds", location=place) for n in range(2000)
    )
    with django_assert_max_num_queries(60):
        services.log_many("object", works, None)
    assert log.last_number() == 2000


def test_rows_that_were_not_saved_are_not_logged() -> None:
    with pytest.raises(ValueError, match="Save the rows first"):
        services.log_many("object", [Object(id=uuid.uuid4(), title="Reeds")], None)
    assert log.last_number() == 0
