"""Several tablets push while others pull, over HTTP, as in a museum.

On SQLite in a file, or on PostgreSQL where FIELDLEAF_DATABASE leads to one.
"""

import os
import threading
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import requests

from tests.browser.server import Server, manage
from tests.postgres import new_database
from tests.sync.wire import NEW_VISIT, START_MS

PUSHERS = 4
BATCHES = 6
WORK = str(uuid.uuid4())
PREPARE = f"""
from tests.factories import DeviceFactory, ObjectFactory
from survey.sync.services import log_many
for number in range({PUSHERS + 2}):
    DeviceFactory(token="tablet-" + str(number))
log_many("object", [ObjectFactory(pk="{WORK}", location=None)], None)
"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    data = tmp_path_factory.mktemp("museum")
    with pytest.MonkeyPatch.context() as environment:
        if address := os.environ.get("FIELDLEAF_DATABASE"):
            own = new_database(address, f"concurrency_{uuid.uuid4().hex}")
            environment.setenv("FIELDLEAF_DATABASE", own)
        manage(data, "migrate", "--verbosity", "0")
        manage(data, "shell", "-c", PREPARE)
        server = Server(data)
        server.start()
        yield server
        server.stop()


def call(server: Server, number: int, method: str, path: str, **given: Any) -> dict[str, Any]:
    answer = requests.request(
        method,
        f"{server.address}/api/sync/{path}",
        headers={"Authorization": f"Device tablet-{number}"},
        timeout=60,
        **given,
    )
    answer.raise_for_status()
    return dict(answer.json())


def changes(number: int, batch: int) -> list[dict[str, Any]]:
    """A visit with an examination, and a second word on each, from one tablet."""
    visit, examination = str(uuid.uuid4()), str(uuid.uuid4())
    written = [
        ("visit", visit, NEW_VISIT),
        ("examination", examination, {"visit": visit, "object": WORK}),
        ("visit", visit, {"note": f"batch {batch}"}),
        ("examination", examination, {"notes": f"batch {batch}"}),
    ]
    return [
        {
            "id": str(uuid.uuid4()),
            "entity": entity,
            "entity_id": key,
            "fields": fields,
            "base": 0,
            "at": f"{START_MS + batch:013d}-{place:04x}-tablet{number}",
        }
        for place, (entity, key, fields) in enumerate(written)
    ]


def push(server: Server, number: int) -> None:
    for batch in range(BATCHES):
        sent = {"changes": changes(number, batch)}
        answer = call(server, number, "POST", "push", json=sent)
        assert [result["outcome"] for result in answer["results"]] == ["applied"] * 4


def pull(server: Server, number: int, is_over: threading.Event) -> dict[str, int]:
    """What a tablet has by key and revision, that pulled small pages all the while."""
    rows: dict[str, int] = {}
    cursor = 0
    while True:
        was_over = is_over.is_set()
        page = call(server, number, "GET", f"pull?cursor={cursor}&limit=7")
        rows |= {row["id"]: row["revision"] for row in page["rows"]}
        assert page["cursor"] >= cursor
        cursor = page["cursor"]
        if was_over and not page["more"]:
            return rows


def test_a_tablet_that_pulls_all_the_while_misses_nothing(server: Server) -> None:
    is_over = threading.Event()
    with ThreadPoolExecutor(PUSHERS + 2) as pool:
        pullers = [pool.submit(pull, server, PUSHERS + extra, is_over) for extra in range(2)]
        pushers = [pool.submit(push, server, number) for number in range(PUSHERS)]
        try:
            for pusher in pushers:
                pusher.result()
        finally:
            is_over.set()
        seen = [puller.result() for puller in pullers]
    at_the_end = pull(server, 0, is_over)
    assert len(at_the_end) == PUSHERS * BATCHES * 2 + 1  # and the object
    assert seen == [at_the_end, at_the_end]
    assert sorted(at_the_end.values())[-1] == PUSHERS * BATCHES * 4 + 1


def test_the_same_batch_sent_twice_at_once_is_applied_once(server: Server) -> None:
    sent = {"changes": changes(0, 99)}
    with ThreadPoolExecutor(4) as pool:
        answers = list(
            pool.map(lambda _: call(server, 0, "POST", "push", json=sent)["results"], range(4))
        )
    assert answers == [answers[0]] * 4
