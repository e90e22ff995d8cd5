"""Who acts, and a queue to act on."""

from collections.abc import Callable
from typing import Any

import pytest

from survey.access.models import Person
from survey.examination.models import Recommendation
from survey.triage import queries
from survey.triage.board import Board, Row
from tests.factories import ObjectFactory, PersonFactory, RecommendationFactory, examined


@pytest.fixture
def head() -> Person:
    return PersonFactory(first_name="Ottilie", last_name="Crane", role=Person.Role.HEAD)


@pytest.fixture
def conservator() -> Person:
    return PersonFactory(first_name="Wren", last_name="Halloway")


@pytest.fixture
def courier() -> Person:
    return PersonFactory(role=Person.Role.COURIER)


Work = Callable[..., Recommendation]


@pytest.fixture
def work(db: None) -> Work:
    """Makes recommended work on a new object: its number and grade, and what else is told."""

    def make(number: str, grade: str = "fair", kind: str = "treat", **values: Any) -> Any:
        made = {name: values.pop(name) for name in ("hours", "note") if name in values}
        item = values.pop("object", None) or ObjectFactory(accession_number=number, **values)
        return RecommendationFactory(
            examination=examined(object=item, grade=grade), kind_of_work=kind, **made
        )

    return make


@pytest.fixture
def four(work: Work) -> list[Recommendation]:
    """Work on A, B, C and D, which stand in this order."""
    grades = zip("ABCD", ("unstable", "poor", "fair", "good"), strict=True)
    return [work(number, grade) for number, grade in grades]


def order(key: tuple[str, str] = ("paper", "treat")) -> list[str]:
    """Accession numbers as they stand in a queue."""
    return [placed.row.object.accession_number for placed in queries.board().queues.get(key, ())]


def row_of(work: Any, board: Board | None = None) -> Row:
    return (board or queries.board()).by_key[work.pk]
