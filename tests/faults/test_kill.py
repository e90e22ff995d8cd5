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
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Playwright

from tests.browser import frozen, museum, small_museum, tablet
from tests.browser.conftest import launch
from tests.browser.server import Server
from tests.faults import evidence, killing
from tests.faults.examiner import Examiner
from tests.faults.ledger import Ledger
from tests.faults.processes import browser_on, kill_tree

ROUNDS = int(os.environ.get("FIELDLEAF_KILL_ROUNDS", "30"))
SEED = int(os.environ.get("FIELDLEAF_KILL_SEED") or random.randrange(10**6))
COUNTED_EVERY = 10
IS_CARRIED = """
async (objects) => {
  const { db, readSetting } = await import("/field/store/database.js");
  const pull = await readSetting("pull");
  const isWhole = (await db.objects.count()) === objects && pull?.isWhole;
  return Boolean(isWhole && navigator.serviceWorker.controller);
}
"""
SEND = "import('/field/sync/engine.js').then(({ syncNow }) => syncNow())"
WAITING = """
async () => {
  const { db } = await import("/field/store/database.js");
  const { syncState } = await import("/field/sync/state.js");
  const { filesToSend } = await import("/field/store/space.js");
  const waiting = [...(await db.outbox.toArray()), ...(await filesToSend())];
  return waiting.length ? JSON.stringify([syncState.value.problem, ...waiting]) : "";
}
"""
FREE_SENT = "import('/field/store/space.js').then(({ freeSent }) => freeSent())"


class Bench:
    """A server, a browser on a profile that outlives it, and somebody who works on it."""

    def __init__(self, playwright: Playwright, folder: Path) -> None:
        self.playwright = playwright
        self.profile = folder / "profile"
        (folder / "data").mkdir()
        self.server = Server(folder / "data")
        frozen.give_museum(self.server, {})
        self.watch = killing.Watch()
        self.ledger = Ledger()
        self.examiner = Examiner(random.Random(SEED), self.ledger)
        self.browser: BrowserContext
        self.browser_pid = 0
        self.rows_before = evidence.on_the_server(self.server.data)
        for table, rows in self.rows_before.items():
            for key in rows:
                self.ledger.begins(table, key)

    def open_browser(self) -> Page:
        self.browser = launch(self.playwright, self.profile)
        self.browser_pid = browser_on(self.profile)
        self.watch.over(self.browser)
        return tablet.open_app(self.browser, self.server)

    def kill(self, victim: str) -> None:
        if victim == "browser":
            kill_tree(self.browser_pid)
        elif self.server.process:
            kill_tree(self.server.process.pid)

    def begin(self) -> None:
        self.server.start()
        page = self.open_browser()
        tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
        while not page.evaluate(IS_CARRIED, len(small_museum.NUMBERS)):
            page.wait_for_timeout(50)
        self.examiner.go_on(page)
        self.examiner.start_visit()

    def work_until(self, plan: killing.Plan) -> None:
        self.examiner.something()
        plan.arm()
        try:
            if plan.during == killing.UPLOADING:
                self.examiner.photograph()
            while not plan.done.is_set():
                self.examiner.something()
        except Error:
            if not (plan.done.is_set() and "browser" in plan.victims):
                raise

    def mend(self, plan: killing.Plan) -> None:
        """Start again what was killed. While the server is away, the work goes on."""
        if "server" in plan.victims and self.server.process:
            self.server.process.wait()
        if "browser" in plan.victims:
            self.browser.close()
            self.examiner.go_on(self.open_browser())
        if "server" in plan.victims:
            self.examiner.something()
            self.server.start()

    def count(self) -> None:
        """Send all that waits, then hold the server's rows and bytes against the ledger."""
        page = self.examiner.page
        deadline = time.monotonic() + 60
        while waiting := page.evaluate(WAITING):
            page.evaluate(SEND)
            if time.monotonic() > deadline:
                self.ledger.fault("lost", f"this is never sent: {waiting}")
                return
        self.ledger.compare("on the server", evidence.on_the_server(self.server.data))
        contents = evidence.stored_contents(self.server.data)
        for sha256, size in self.examiner.photographs.items():
            taken = sha256 in self.taken()
            if taken and contents.get(sha256) != 1:
                self.ledger.fault("lost", f"the {size} bytes of photograph {sha256}")
        for sha256 in contents.keys() - self.examiner.photographs.keys():
            self.ledger.fault("altered", f"{sha256} was never photographed")
        data = self.server.data
        for kind, query in {
            "lost": "SELECT reasons FROM sync_change WHERE outcome = 'refused'",
            "doubled": """SELECT entity, entity_id, count(*) FROM sync_change
                          WHERE number IS NOT NULL AND base = 0 AND json_extract(fields, '$.id')
                          GROUP BY entity, entity_id HAVING count(*) > 1""",
            "altered": f"""SELECT field FROM sync_openquestion
                           WHERE id != '{small_museum.QUESTION.hex}'""",
        }.items():
            for row in museum.read(data, query):
                self.ledger.fault(kind, f"on the server: {row}")
        assert museum.read(data, "PRAGMA integrity_check") == [("ok",)]
        page.evaluate(FREE_SENT)

    def taken(self) -> set[str]:
        """The photographs that are there for good, as the ledger has it."""
        return {
            self.ledger.record("photographs", key).may_hold["sha256"][0]
            for key in self.ledger.living("photographs")
        }


@pytest.fixture
def bench(playwright: Playwright, tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(playwright, tmp_path)
    yield bench
    bench.browser.close()
    bench.server.stop()


def test_kills_at_random_moments_lose_double_and_alter_nothing(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    chance = random.Random(SEED)
    spread: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    began = time.monotonic()
    bench.begin()
    for number in range(1, ROUNDS + 1):
        plan = killing.drawn(chance, bench.kill, bench.watch)
        bench.work_until(plan)
        bench.mend(plan)
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
