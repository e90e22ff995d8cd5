"""A message of the interface that was altered on the way is told from a whole one."""

import base64
import hashlib
import json

import pytest
from django.test import Client

from survey.digests import digest_of
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def test_every_answer_carries_the_digest_of_its_content() -> None:
    for answer in (WireTablet().get("/api/sync/pull"), Client().get("/api/sync/pull")):
        digest = base64.b64encode(hashlib.sha256(answer.content).digest()).decode()
        assert answer["Content-Digest"] == f"sha-256=:{digest}:"


def push(content: bytes, digest: str) -> int:
    answer = WireTablet().request(
        "post", "/api/sync/push", content, "application/json", **{"Content-Digest": digest}
    )
    return int(answer.status_code)


def test_it_takes_a_request_that_came_as_it_was_sent() -> None:
    content = json.dumps({"changes": []}).encode()
    assert push(content, digest_of(content)) == 200


@pytest.mark.parametrize("form", ["{}", "sha-512=:AAAA:, {}"])
def test_it_refuses_a_request_that_was_altered_and_asks_for_it_again(form: str) -> None:
    sent, arrived = (json.dumps({"changes": [], "x": x}).encode() for x in (1, 7))
    assert push(arrived, form.format(digest_of(sent))) == 460


def test_it_leaves_other_digests_alone() -> None:
    assert push(b'{"changes": []}', "sha-512=:AAAA:") == 200


def test_a_request_larger_than_is_taken_at_once_is_said_to_be(settings: object) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 10  # type: ignore[attr-defined]
    content = b'{"changes": []}'
    assert push(content, digest_of(content)) == 413
