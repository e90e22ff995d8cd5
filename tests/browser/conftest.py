"""A seeded museum, real servers on copies of it, and Chromium at tablet and phone size."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Playwright, expect

from tests.browser import small_loan
from tests.browser.museum import write
from tests.browser.server import Server, manage
from tests.browser.small_loan import Lent
from tests.once import made_once

# A cold start on a busy machine takes longer than the five seconds that are waited by default.
expect.set_options(timeout=20_000)

TABLET = {"width": 1024, "height": 768}
PHONE = {"width": 390, "height": 844}
# Chromium's own errands are off: tests talk to 127.0.0.1 only.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
]

Opener = Callable[..., BrowserContext]


def launch(playwright: Playwright, profile: Path, **options: Any) -> BrowserContext:
    """Chromium at tablet size, unless told otherwise, on a profile folder."""
    context = playwright.chromium.launch_persistent_context(
        str(profile),
        executable_path=shutil.which("chromium"),
        args=ARGUMENTS,
        has_touch=True,
        **{"viewport": TABLET, **options},
    )
    context.set_default_timeout(20_000)
    return context


@pytest.fixture(scope="session")
def museum(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the invented museum, made once; tests work on copies.

    FIELDLEAF_TEST_MUSEUM names one made before, which saves a minute while writing tests; it
    may have been made under an older schema.
    """
    if made_before := os.environ.get("FIELDLEAF_TEST_MUSEUM"):
        data = tmp_path_factory.mktemp("museum")
        shutil.copytree(made_before, data, dirs_exist_ok=True)
        manage(data, "migrate")
        return data
    return made_once(tmp_path_factory, "museum", lambda data: manage(data, "demo", "--no-serve"))


@pytest.fixture
def server(museum: Path, tmp_path: Path) -> Iterator[Server]:
    data = tmp_path / "data"
    shutil.copytree(museum, data)
    server = Server(data)
    server.start()
    yield server
    server.stop()


@pytest.fixture
def small_server(small_museum: Path, tmp_path: Path) -> Iterator[Server]:
    """A server with the small museum of three sheets, on which nobody disagrees."""
    data = tmp_path / "small-data"
    shutil.copytree(small_museum, data)
    server = Server(data)
    write(data, "DELETE FROM sync_openquestion")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def open_browser(playwright: Playwright, tmp_path: Path) -> Iterator[Opener]:
    """Opens a browser on a profile that outlives it, as a tablet's does."""
    opened: list[BrowserContext] = []

    def open_one(profile: str = "tablet", **options: Any) -> BrowserContext:
        context = launch(playwright, tmp_path / profile, **options)
        opened.append(context)
        return context

    yield open_one
    for context in opened:
        context.close()


@pytest.fixture
def bare_server(tmp_path: Path) -> Iterator[Server]:
    """A server that is not running yet, on an empty folder; see frozen.give_museum."""
    (tmp_path / "bare").mkdir()
    server = Server(tmp_path / "bare")
    yield server
    server.stop()


@pytest.fixture(scope="session")
def lender(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Lent]:
    """The museum that lends two sheets, made once; tests work on copies."""
    data = tmp_path_factory.mktemp("lender")
    return data, small_loan.lend(Server(data))


@pytest.fixture
def lending(lender: tuple[Path, Lent], tmp_path: Path) -> Iterator[tuple[Server, Lent]]:
    """A running server of that museum."""
    made, lent = lender
    data = tmp_path / "lending"
    shutil.copytree(made, data)
    server = Server(data)
    server.start()
    yield server, lent
    server.stop()
