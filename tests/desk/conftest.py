"""People at the desk, each signed in, and what their pages say."""

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.test import Client

from survey.access.models import Person
from tests.factories import PersonFactory


@pytest.fixture
def head() -> Person:
    return PersonFactory(
        username="head", first_name="Ottilie", last_name="Crane", role=Person.Role.HEAD
    )


@pytest.fixture
def conservator() -> Person:
    return PersonFactory(username="wren", first_name="Wren", last_name="Halloway")


@pytest.fixture
def courier() -> Person:
    return PersonFactory(
        username="courier", first_name="Tobias", last_name="Fell", role=Person.Role.COURIER
    )


@pytest.fixture
def at_desk(db: None) -> Callable[[Person], Client]:
    def signed_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return signed_in


@pytest.fixture
def desk(at_desk: Callable[[Person], Client], conservator: Person) -> Client:
    """A conservator's."""
    return at_desk(conservator)


@pytest.fixture
def head_desk(at_desk: Callable[[Person], Client], head: Person) -> Client:
    return at_desk(head)


@pytest.fixture
def courier_desk(at_desk: Callable[[Person], Client], courier: Person) -> Client:
    return at_desk(courier)


def text_of(answer: Any) -> str:
    """The page's words with runs of white space made one, so that tests read as sentences."""
    page = answer.content.decode()
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())
