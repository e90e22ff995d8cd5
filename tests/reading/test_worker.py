"""The worker as a process of its own: it makes what waits, ends when told, and survives being
killed."""

import contextlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.server import ROOT, manage

pytestmark = pytest.mark.skipif(
    "FIELDLEAF_DATABASE" in os.environ, reason="has a database of its own, on SQLite"
)

# A museum of one sheet, and a reading of it that takes some seconds.
SEED = """
import django; django.setup()
from survey.reading.services import ask
from tests.reading.sheets import examination, photographed
of = examination()
photographed(of, "transmitted")
ask("paper", of, "recto", None)
"""


@pytest.fixture(scope="module")
def data(tmp_path_factory: Any) -> Path:
    folder: Path = tmp_path_factory.mktemp("data")
    manage(folder, "migrate")
    return folder


@pytest.fixture
def workers(data: Path) -> Iterator[list[subprocess.Popen[str]]]:
    started: list[subprocess.Popen[str]] = []
    yield started
    for one in started:
        if one.poll() is None:
            one.kill()
        one.wait()
        if one.stdin:
            one.stdin.close()
        if one.stdout:
            one.stdout.close()


def environment(data: Path) -> dict[str, str]:
    return {
        **os.environ,
        "FIELDLEAF_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "survey.settings",
    }


def python(data: Path, code: str) -> None:
    subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment(data), check=True,
    )  # fmt: skip


def started(data: Path, workers: list[Any], *arguments: str) -> "subprocess.Popen[str]":
    process = subprocess.Popen(
        [sys.executable, "manage.py", "worker", *arguments],
        cwd=ROOT,
        env=environment(data),
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    workers.append(process)
    return process


def look(data: Path) -> Any:
    """(state, how often begun, sentence, result) of the one reading there is, if there is one."""
    with contextlib.closing(sqlite3.connect(data / "fieldleaf.sqlite3", timeout=30)) as rows:
        found = rows.execute("SELECT state, begun, sentence, result FROM reading_reading")
        return found.fetchone()


def until_running(data: Path) -> None:
    deadline = time.monotonic() + 120
    while (look(data) or ("",))[0] != "running":
        assert time.monotonic() < deadline
        time.sleep(0.01)


def test_a_killed_reading_is_taken_up_by_the_next_worker(
    data: Path, workers: list[subprocess.Popen[str]]
) -> None:
    killed = started(data, workers)
    assert killed.stdout is not None
    assert "Readings that wait: 0." in killed.stdout.readline()
    second = started(data, workers)
    assert second.wait(60) == 1
    assert second.stdout is not None
    assert "A worker runs already. One is enough." in second.stdout.read()

    python(data, SEED)
    until_running(data)
    killed.kill()
    killed.wait()
    assert look(data)[:2] == ("running", 1)

    told = started(data, workers)
    assert told.stdout is not None
    assert "Readings that wait: 1." in told.stdout.readline()
    until_running(data)
    told.send_signal(signal.SIGTERM)
    assert told.wait(60) == 0
    # Told to end it stops at the next step, and that it was begun does not count against it.
    assert look(data)[:2] == ("waiting", 1)

    last = started(data, workers, "--once")
    assert last.wait(120) == 0
    state, begun, sentence, result = look(data)
    assert (state, begun, json.loads(result)["make"]) == ("done", 2, "laid")
    assert "chain lines" in sentence


def test_it_ends_with_whoever_started_it(data: Path, workers: list[subprocess.Popen[str]]) -> None:
    worker = started(data, workers, "--while-open")
    assert worker.stdout is not None and worker.stdin is not None
    worker.stdout.readline()
    worker.stdin.close()
    assert worker.wait(30) == 0
