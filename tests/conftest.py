"""What every test stands on: a folder of its own for files, and quick passwords."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings as hypothesis_settings
from playwright.sync_api import Playwright, sync_playwright

from tests.browser import frozen
from tests.browser.server import Server
from tests.once import made_once

# The same examples each time, so that a change is judged by what it changed; new ones on demand.
# No deadlines: how long an example takes says more about the machine.
hypothesis_settings.register_profile(
    "fieldleaf", derandomize=os.environ.get("FIELDLEAF_EXAMPLES") != "new", deadline=None
)
hypothesis_settings.load_profile("fieldleaf")


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, settings: Any) -> None:
    settings.PHOTOGRAPHS_DIR = tmp_path / "photographs"
    settings.UPLOADS_DIR = tmp_path / "uploads"


@pytest.fixture(autouse=True)
def quick_passwords(settings: Any) -> None:
    # A real hash takes half a second of work on purpose, and every person made here has one.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    # One for all rooms of tests: a second would not start beside it.
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def small_museum(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with three sheets, made once; tests work on copies."""
    return made_once(
        tmp_path_factory, "small-museum", lambda data: frozen.give_museum(Server(data), {})
    )


@pytest.fixture(autouse=True)
def readings_at_once(settings: Any) -> None:
    # No worker runs beside the tests: what is asked for is done before the call returns.
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
