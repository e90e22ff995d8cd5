"""Benches, each with a server and a browser of its own, cleared away at the end; small disks."""

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.faults.bench import Bench
from tests.faults.small_disk import SmallDisk

# Everything is slow while things break, and slowness is not what these tests are about.
expect.set_options(timeout=20_000)


@pytest.fixture
def make_bench(
    playwright: Playwright, small_museum: Path, tmp_path: Path
) -> Iterator[Callable[..., Bench]]:
    made: list[Bench] = []

    def make(seed: int, profile: Path = tmp_path / "profile") -> Bench:
        made.append(Bench(playwright, small_museum, tmp_path, seed, profile))
        return made[-1]

    yield make
    for bench in made:
        bench.close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[SmallDisk]:
    """A real file system of its own, in memory, small enough to be filled."""
    folder = tmp_path / "small-disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SmallDisk.SIZE_MB}m", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("A small disk can only be mounted by root, outside most containers.")
    yield SmallDisk(folder)
    subprocess.run(["umount", "--lazy", str(folder)], check=True)
