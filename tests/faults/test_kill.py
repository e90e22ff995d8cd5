"""The server and the browser are killed again and again at random moments; every byte is counted.

FIELDLEAF_KILL_ROUNDS  how many kills (30); a long run is 300
FIELDLEAF_KILL_SEED    the seed of all chance, printed by each run; moments still differ a little

What a kill of a process shows: nothing that was reported saved hangs on that process. It is no
power cut: what the system had taken over, but not yet written to the disk, stays.
"""

import os
import random
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import Error

from tests.faults import evidence, killing
from tests.faults.bench import Bench
from tests.faults.processes import kill_tree

ROUNDS = int(os.environ.get("FIELDLEAF_KILL_ROUNDS", "30"))
SEED = int(os.environ.get("FIELDLEAF_KILL_SEED") or random.randrange(10**6))
COUNTED_EVERY = 10


def test_kills_at_random_moments_lose_double_and_alter_nothing(
    make_bench: Callable[..., Bench], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    chance = random.Random(SEED)
    spread: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    began = time.monotonic()
    bench = make_bench(seed=SEED)
    bench.begin()
    for number in range(1, ROUNDS + 1):
        plan = killing.drawn(chance, lambda victim: kill(bench, victim), bench.watch)
        try:
            work_until(bench, plan)
            mend(bench, plan)
        except (AssertionError, Error) as error:
            error.add_note(f"Seed {SEED}, round {number}, killed: {plan.done.is_set()}")
            if not bench.examiner.page.is_closed():
                bench.examiner.page.screenshot(path=tmp_path / "seen-at-the-failure.png")
            raise
        kinds[" and ".join(plan.victims)] += 1
        spread[plan.was_under_way] += 1
        if number % COUNTED_EVERY == 0 or number == ROUNDS:
            bench.count()
        told = "\n".join(bench.ledger.told)
        assert not told, f"Seed {SEED}, round {number}, {plan.was_under_way}:\n{told}"
    sizes = [size for sha, size in bench.examiner.photographs.items() if sha in bench.taken()]
    with capsys.disabled():
        print(f"\nKill rounds: {ROUNDS} (seed {SEED}) in {time.monotonic() - began:.0f} s")
        print(f"  killed: {_listed(kinds)}")
        print(f"  under way at the kill: {_listed(spread)}")
        print(f"  changes reported saved: {bench.ledger.promises}; records: "
              f"{sum(len(bench.ledger.living(table)) for table in evidence.TABLES)}; "
              f"photographs: {len(sizes)}, {sum(sizes):,} bytes")  # fmt: skip
        print("  lost 0, doubled 0, altered 0")


def _listed(counts: Counter[str]) -> str:
    return ", ".join(f"{name} {many}" for name, many in counts.most_common())


def kill(bench: Bench, victim: str) -> None:
    if victim == "browser":
        kill_tree(bench.browser_pid)
    elif bench.server.process:
        kill_tree(bench.server.process.pid)


def work_until(bench: Bench, plan: killing.Plan) -> None:
    bench.examiner.something()
    plan.arm()
    try:
        if plan.during == killing.UPLOADING:
            bench.examiner.photograph()
        while not plan.done.is_set():
            bench.examiner.something()
    except (AssertionError, Error):  # What was looked for died with its page.
        if not (plan.done.is_set() and "browser" in plan.victims):
            raise


def mend(bench: Bench, plan: killing.Plan) -> None:
    """Start again what was killed. While the server is away, the work goes on."""
    if "server" in plan.victims and bench.server.process:
        bench.server.process.wait()
    if "browser" in plan.victims and bench.browser:
        with suppress(Error):  # It says so when it finds itself dead.
            bench.browser.close()
        bench.examiner.go_on(bench.open_browser())
    if "server" in plan.victims:
        bench.examiner.something()
        bench.server.start()
