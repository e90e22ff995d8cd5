"""A server, a browser on a profile that outlives it, and somebody at work who keeps a ledger."""

import random
import shutil
import time
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Playwright

from tests.browser import museum, small_museum, tablet
from tests.browser.conftest import launch
from tests.browser.server import Server
from tests.faults import evidence, killing
from tests.faults.examiner import Examiner
from tests.faults.ledger import Ledger
from tests.faults.processes import browser_on

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
REFUSED = "SELECT reasons FROM sync_change WHERE outcome = 'refused'"
QUESTIONS = "SELECT entity, field FROM sync_openquestion WHERE id != ?"
# The field that only the change which makes a record carries.
MADE_WITH = {
    "visit": "purpose",
    "examination": "object",
    "observation": "term",
    "measurement": "what",
    "photograph": "sha256",
}
MADE_TWICE = """
SELECT entity_id FROM sync_change WHERE json_type(fields, ?) IS NOT NULL AND entity = ?
GROUP BY entity_id HAVING count(*) > 1
"""
FREE_SENT = "import('/field/store/space.js').then(({ freeSent }) => freeSent())"


class Bench:
    """A server, a browser on a profile that outlives it, and somebody who works on it."""

    def __init__(
        self, playwright: Playwright, museum: Path, folder: Path, seed: int, profile: Path
    ) -> None:
        self.playwright = playwright
        self.profile = profile
        self.server = Server(Path(shutil.copytree(museum, folder / "data", dirs_exist_ok=True)))
        # What the browser speaks to: the server itself, or a proxy before it.
        self.address = self.server.address
        self.watch = killing.Watch()
        self.ledger = Ledger()
        self.examiner = Examiner(random.Random(seed), self.ledger)
        self.browser: BrowserContext | None = None
        self.browser_pid = 0
        self.rows_before = evidence.on_the_server(self.server.data)
        for table, rows in self.rows_before.items():
            for key in rows:
                self.ledger.begins(table, key)

    def open_browser(self) -> Page:
        self.browser = launch(self.playwright, self.profile)
        self.browser_pid = browser_on(self.profile)
        self.watch.over(self.browser)
        page = self.browser.pages[0]
        page.goto(f"{self.address}/field/")
        return page

    def begin(self) -> None:
        self.server.start()
        page = self.open_browser()
        tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
        while not page.evaluate(IS_CARRIED, len(small_museum.NUMBERS)):
            page.wait_for_timeout(50)
        self.examiner.go_on(page)
        self.examiner.start_visit()

    def count(self) -> None:
        """Send all that waits, then hold the server's rows and bytes against the ledger."""
        page = self.examiner.page
        deadline = time.monotonic() + 120
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
        for reasons in museum.read(data, REFUSED):
            self.ledger.fault("lost", f"the server refused a change: {reasons}")
        for field in museum.read(data, QUESTIONS, small_museum.QUESTION.hex):
            self.ledger.fault("altered", f"the server asks about {field}, with one tablet at work")
        for entity, field in MADE_WITH.items():
            for twice in museum.read(data, MADE_TWICE, f"$.{field}", entity):
                self.ledger.fault("doubled", f"{entity} {twice} was made more than once")
        assert museum.read(data, "PRAGMA integrity_check") == [("ok",)]
        page.evaluate(FREE_SENT)

    def taken(self) -> set[str]:
        """The photographs that are there for good, as the ledger has it."""
        return {
            self.ledger.record("photographs", key).may_hold["sha256"][0]
            for key in self.ledger.living("photographs")
        }

    def close(self) -> None:
        if self.browser:
            self.browser.close()
        self.server.stop()
