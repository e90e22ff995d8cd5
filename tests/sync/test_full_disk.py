"""A full disk of the server: it says so in a sentence, keeps nothing half, and goes on after."""

import errno
from collections.abc import Iterator
from typing import Any

import psycopg.errors
import pytest
from django.db import OperationalError, connection

from survey.examination.models import Visit
from survey.sync import services
from survey.sync.full_disk import is_full_disk
from survey.sync.models import Change
from tests.tablets import WireTablet

# SQLite ends the whole transaction when it meets a full disk: tests must not stand in one.
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def tablet() -> WireTablet:
    return WireTablet()


def visits(tablet: WireTablet) -> list[dict[str, Any]]:
    """More than goes into the free pages of any database."""
    said = {"purpose": "bench", "name": "Bench", "note": "x" * 20_000}
    return [tablet.change("visit", f"018f0000-0000-7000-8000-{n:012}", said, 0) for n in range(60)]


@pytest.fixture
def no_more_pages() -> Iterator[None]:
    """SQLite's own limit gives the very error of a full disk."""
    if connection.vendor != "sqlite":
        pytest.skip("Only SQLite can be held to a number of pages.")
    with connection.cursor() as cursor:
        [pages] = cursor.execute("PRAGMA page_count").fetchone()
        [most] = cursor.execute("PRAGMA max_page_count").fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages}")
        yield
        cursor.execute(f"PRAGMA max_page_count = {most}")


def test_a_push_that_meets_a_full_disk_says_so_and_takes_nothing(
    tablet: WireTablet, no_more_pages: None
) -> None:
    answer = tablet.request(
        "post", "/api/sync/push", {"changes": visits(tablet)}, "application/json"
    )
    assert answer.status_code == 507
    assert "The server's disk is full" in answer.json()["detail"]
    assert (Visit.objects.count(), Change.objects.count()) == (0, 0)


def test_the_same_push_is_taken_whole_once_there_is_room(
    tablet: WireTablet, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = visits(tablet)
    apply = services.apply_from_tablet
    taken = iter(range(100))

    def full_after_three(change: Change) -> None:
        if next(taken) == 3:
            raise OperationalError from OSError(errno.ENOSPC, "No space left on device")
        apply(change)

    monkeypatch.setattr(services, "apply_from_tablet", full_after_three)
    answer = tablet.request("post", "/api/sync/push", {"changes": changes}, "application/json")
    assert answer.status_code == 507
    assert (Visit.objects.count(), Change.objects.count()) == (0, 0)

    monkeypatch.undo()
    results = tablet.push_all(*changes)
    assert {result["outcome"] for result in results} == {"applied"}
    assert Visit.objects.count() == len(changes)


def wrapped(cause: Exception) -> OperationalError:
    try:
        raise OperationalError("as the framework tells it") from cause
    except OperationalError as error:
        return error


@pytest.mark.parametrize(
    "cause",
    [
        psycopg.errors.DiskFull("could not extend file"),
        OSError(errno.ENOSPC, "No space left on device"),
        OSError(errno.EDQUOT, "Disk quota exceeded"),
    ],
)
def test_every_way_to_say_it_is_understood(cause: Exception) -> None:
    assert is_full_disk(cause)
    assert is_full_disk(wrapped(cause))


@pytest.mark.parametrize("cause", [psycopg.errors.LockNotAvailable(), OSError(errno.EIO, "I/O")])
def test_other_trouble_is_not_taken_for_it(cause: Exception) -> None:
    assert not is_full_disk(wrapped(cause))
