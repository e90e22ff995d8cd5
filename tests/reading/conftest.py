"""A kind of reading that does what a test tells it to."""

from collections.abc import Callable, Iterator
from typing import Any
from unittest.mock import patch

import pytest

from survey.imaging.opened import CannotRead
from survey.reading import kinds
from survey.reading.kinds.job import Found, Job, Kind, newest
from survey.reading.trouble import CannotAsk

Read = Callable[[Job], Found]


def found(job: Job) -> Found:
    return Found({"lines": 7}, "Seven lines were counted.")


@pytest.fixture
def kind_that() -> Iterator[Callable[[Read], None]]:
    """``kind_that(read)`` puts a kind in the place of the paper's that reads so."""

    def choose(photographs: Any, *_: Any) -> list[Any]:
        one = newest(photographs, "transmitted")
        if one is None:
            raise CannotAsk("This side has no photograph in transmitted light.")
        return [one]

    def correct(result: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
        return result | changes

    with patch.dict(kinds.KINDS):

        def put(read: Read) -> None:
            kinds.KINDS["paper"] = Kind(1, choose, read, (CannotRead,), correct)

        put(found)
        yield put
