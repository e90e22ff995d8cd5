"""Benches, each with a server and a browser of its own, cleared away at the end."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from tests.browser import frozen
from tests.browser.server import Server
from tests.faults.bench import Bench


@pytest.fixture(scope="session")
def small_museum(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with three sheets, made once; benches work on copies."""
    data = tmp_path_factory.mktemp("small-museum")
    frozen.give_museum(Server(data), {})
    return data


@pytest.fixture
def make_bench(
    playwright: Playwright, small_museum: Path, tmp_path: Path
) -> Iterator[Callable[..., Bench]]:
    made: list[Bench] = []

    def make(seed: int, folder: Path = tmp_path) -> Bench:
        made.append(Bench(playwright, small_museum, folder, seed))
        return made[-1]

    yield make
    for bench in made:
        bench.close()
