"""What a tablet pulls: every row once, in scope, in pages that never skip one."""

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from survey.catalogue.models import Object
from survey.sync import log, registry, services
from survey.sync.models import Change
from survey.sync.queries import MOST_ROWS, Page, page_after
from survey.sync.registry import Entity
from tests.factories import (
    DeviceFactory,
    ExaminationFactory,
    LocationFactory,
    ObjectFactory,
    PersonFactory,
)
from tests.sync.wire import NEW_VISIT, Tablet, two_tablets

pytestmark = pytest.mark.django_db
ALL: dict[str, Any] = {"locations": []}


def logged_objects(count: int, **values: Any) -> list[Object]:
    works = [ObjectFactory(location=None, **values) for _ in range(count)]
    services.log_many("object", works, None)
    return works


def pages(limit: int, cursor: int = 0, scope: dict[str, Any] = ALL) -> list[Page]:
    read = [page_after(cursor, limit, scope)]
    while read[-1].more:
        read.append(page_after(read[-1].cursor, limit, scope))
    return read


def pulled(limit: int, cursor: int = 0, scope: dict[str, Any] = ALL) -> list[dict[str, Any]]:
    return [row for page in pages(limit, cursor, scope) for row in page.rows]


def test_it_sends_the_present_state_of_each_row_once() -> None:
    tablet = Tablet()
    tablet.push(NEW_VISIT)
    change = tablet.push({"note": "Cold."})
    [row] = pulled(100)
    assert (row["entity"], row["id"], row["deleted"]) == ("visit", str(tablet.visit_id), False)
    assert row["revision"] == change.number
    assert row["fields"]["note"] == "Cold."
    assert row["fields"]["person_name"] == tablet.device.person.name
    assert "id" not in row["fields"]


def test_rows_come_in_the_order_of_their_last_change() -> None:
    first, second = logged_objects(2)
    services.record_change("object", first, {"title": "Changed last"}, None)
    assert [row["id"] for row in pulled(100)] == [str(second.pk), str(first.pk)]


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(limit=st.integers(1, 8), again=st.lists(st.integers(0, 6), max_size=6))
def test_pages_of_any_size_bring_every_row_once(limit: int, again: list[int]) -> None:
    begin = log.last_number()
    works = logged_objects(7)
    for index in again:
        services.record_change("object", works[index], {"maker": f"Hand {index}"}, None)
    read = pages(limit, begin)
    assert all(len(page.rows) <= limit for page in read)
    assert sorted(row["id"] for page in read for row in page.rows) == sorted(
        str(work.pk) for work in works
    )
    assert read[-1].cursor == log.last_number()


def test_a_row_that_changes_between_two_pages_comes_again() -> None:
    works = logged_objects(4)
    first = page_after(0, 2, ALL)
    services.record_change("object", works[0], {"title": "Changed meanwhile"}, None)
    rest = pulled(2, first.cursor)
    assert [row["id"] for row in rest] == [str(works[index].pk) for index in (2, 3, 0)]
    assert rest[-1]["fields"]["title"] == "Changed meanwhile"


def test_a_batch_that_commits_while_a_page_is_read_is_not_skipped(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Between the reads of two kinds of rows, a batch with one of each is committed."""
    work, tablet = logged_objects(1)[0], Tablet()
    whole = {"visit": str(tablet.visit_id), "object": str(work.pk)}
    part = tablet.change(whole, entity="examination", entity_id=str(uuid.uuid4()))
    kinds = sorted(registry.entities(), key=lambda entity: entity.name, reverse=True)

    def read_slowly() -> Iterator[Entity]:
        for entity in kinds:
            yield entity
            if entity.name == "visit":
                services.push([tablet.change(NEW_VISIT), part])

    with monkeypatch.context() as patch:
        patch.setattr(registry, "entities", read_slowly)
        page = page_after(0, 100, ALL)
    later = {row["id"] for row in pulled(100, page.cursor)}
    assert {str(tablet.visit_id), part.entity_id} <= later


def test_nothing_new_leaves_the_cursor_where_it_is() -> None:
    logged_objects(3)
    page = page_after(3, 100, ALL)
    assert (page.rows, page.cursor, page.more) == ([], 3, False)


def test_a_cursor_from_a_lost_future_begins_anew() -> None:
    logged_objects(3)
    assert len(page_after(10**9, 100, ALL).rows) == 3


def test_a_deleted_row_comes_as_a_tombstone_to_those_who_had_it() -> None:
    tablet = Tablet()
    created = tablet.push(NEW_VISIT)
    tablet.push({"deleted": True})
    [row] = pulled(100, created.number or 0)
    assert (row["deleted"], row["fields"]) == (True, None)
    assert pulled(100) == []


def test_refused_changes_are_pulled_by_nobody() -> None:
    Tablet().push({"purpose": "picnic"})
    assert Change.objects.count() == 1
    assert pulled(100) == []


def test_a_device_carries_what_stands_in_its_locations() -> None:
    shelf, other = LocationFactory(), LocationFactory()
    here, there = ObjectFactory(location=shelf), ObjectFactory(location=other)
    services.log_many("object", [here, there], None)
    rows = pulled(100, scope={"locations": [str(shelf.pk)]})
    assert [row["id"] for row in rows] == [str(here.pk)]


def test_more_rows_take_no_more_queries(django_assert_max_num_queries: Any) -> None:
    services.log_many("examination", [ExaminationFactory() for _ in range(20)], None)
    # One for each kind of record, and a few for all of them.
    with django_assert_max_num_queries(len(registry.entities()) + 4):
        assert len(page_after(0, 100, ALL).rows) == 20


def test_a_row_that_leaves_the_scope_is_taken_off_the_device() -> None:
    shelf, other = LocationFactory(), LocationFactory()
    work = ObjectFactory(location=shelf)
    services.log_many("object", [work], None)
    scope = {"locations": [str(shelf.pk)]}
    cursor = page_after(0, 100, scope).cursor
    services.record_change("object", work, {"location": other}, PersonFactory())
    [row] = pulled(100, cursor, scope)
    assert (row["id"], row["deleted"], row["fields"]) == (str(work.pk), True, None)


def test_open_and_settled_questions_come_with_their_row() -> None:
    first, second = two_tablets()
    first.push({"note": "damp"}, 1)
    second.push({"note": "dry"}, 2)
    [question] = page_after(0, 100, ALL).questions
    assert (question["entity_id"], question["field"]) == (str(first.visit_id), "note")
    assert question["shown"]["value"] == "dry"
    assert question["shown"]["person"] == second.device.person.name
    assert question["kept"]["value"] == "damp"
    assert not question["settled"]
    second.base = 0
    first.push({"note": "dry"}, 3)
    [question] = page_after(0, 100, ALL).questions
    assert question["settled"]


def test_open_questions_of_what_a_device_does_not_carry_stay_away() -> None:
    shelf, other = LocationFactory(), LocationFactory()
    examination = ExaminationFactory(object=ObjectFactory(location=other))
    services.log_many("examination", [examination], None)
    for second, notes in enumerate(["damp", "dry"]):
        one = Tablet(visit_id=examination.pk)
        one.push({"notes": notes}, second, entity="examination")
    assert [each["field"] for each in page_after(1, 100, ALL).questions] == ["notes"]
    assert page_after(1, 100, {"locations": [str(shelf.pk)]}).questions == []


# Through the interface.


@pytest.fixture
def client() -> Client:
    DeviceFactory(token="known")
    return Client(headers={"Authorization": "Device known"})


def test_it_answers_in_pages(client: Client) -> None:
    logged_objects(3)
    page = client.get("/api/sync/pull?cursor=0&limit=2").json()
    assert (len(page["rows"]), page["more"], page["cursor"]) == (2, True, 2)
    page = client.get(f"/api/sync/pull?cursor={page['cursor']}").json()
    assert (len(page["rows"]), page["more"], page["cursor"]) == (1, False, 3)
    assert page["scope"] == {"locations": []}


@pytest.mark.parametrize("wrong", ["cursor=-1", "cursor=soon", "limit=0", f"limit={MOST_ROWS + 1}"])
def test_it_says_what_is_wrong_with_the_question(client: Client, wrong: str) -> None:
    answer = client.get(f"/api/sync/pull?{wrong}")
    assert answer.status_code == 400
    assert list(answer.json()) == [wrong.split("=")[0]]


def test_a_device_says_what_it_carries(client: Client) -> None:
    shelf = LocationFactory()
    examination = ExaminationFactory(object__location=shelf)
    services.log_many("object", [examination.object, ObjectFactory()], None)
    services.log_many("examination", [examination, ExaminationFactory()], None)
    answer = client.put("/api/sync/scope", {"locations": [str(shelf.pk)]}, "application/json")
    assert answer.json() == {"locations": [str(shelf.pk)]}
    page = client.get("/api/sync/pull").json()
    assert [row["id"] for row in page["rows"]] == [
        str(examination.object.pk),
        str(examination.pk),
    ]
    assert page["scope"] == {"locations": [str(shelf.pk)]}


def test_a_scope_names_locations_by_their_keys(client: Client) -> None:
    answer = client.put("/api/sync/scope", {"locations": ["cellar"]}, "application/json")
    assert answer.status_code == 400


def test_the_desk_has_no_scope(client: Client) -> None:
    desk = Client()
    desk.force_login(PersonFactory())
    answer = desk.put("/api/sync/scope", {"locations": [str(uuid.uuid4())]}, "application/json")
    assert answer.status_code == 400
