"""GET /api/vocabulary: everything at once, and nothing when nothing has changed."""

import json

import pytest
from rest_framework.test import APIClient

from survey.vocabulary import queries, services
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> APIClient:
    client = APIClient()
    client.force_authenticate(PersonFactory())
    return client


def test_it_gives_the_whole_vocabulary(client):
    answer = client.get("/api/vocabulary")
    assert answer.status_code == 200
    assert answer.json() == json.loads(json.dumps(queries.vocabulary()))
    assert set(answer.json()) == {
        "version",
        "lights",
        "groups",
        "terms",
        "cautions",
        "hazards",
        "grades",
        "kinds_of_work",
        "materials",
    }


def test_it_answers_304_without_a_body_while_nothing_changed(client):
    etag = client.get("/api/vocabulary")["ETag"]
    answer = client.get("/api/vocabulary", headers={"If-None-Match": etag})
    assert answer.status_code == 304
    assert answer.content == b""
    assert answer["ETag"] == etag


@pytest.mark.parametrize("change", ["add", "retire"])
def test_it_answers_in_full_once_a_term_has_changed(client, change):
    etag = client.get("/api/vocabulary")["ETag"]
    if change == "add":
        services.add_term(
            group="making",
            name="Thumb-hole",
            definition="A notch cut so that a thumb can lift the sheet from its slot.",
            lights=["normal"],
            may_be_feature=True,
        )
    else:
        services.retire_term("tear")
    answer = client.get("/api/vocabulary", headers={"If-None-Match": etag})
    assert answer.status_code == 200
    assert answer["ETag"] != etag


def test_it_may_be_kept_only_by_the_person_who_asked(client):
    assert "private" in client.get("/api/vocabulary")["Cache-Control"]


def test_it_is_for_those_who_signed_in():
    assert APIClient().get("/api/vocabulary").status_code in (401, 403)


def test_it_reads_the_terms_in_one_query(client, django_assert_num_queries):
    with django_assert_num_queries(1):
        client.get("/api/vocabulary")
