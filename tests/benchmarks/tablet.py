"""How quickly the tablet app answers, at full speed and at a quarter of it.

Run by hand:  .venv/bin/python -m tests.benchmarks.tablet

Launch: the app is opened cold with no network and no server, 2,000 objects carried, at a form
that was left open. The browser was started anew and given two seconds to come to rest, for its
own start is not ours to mend. The clock runs from the navigation to the first painted frame in
which a field of the form can be used. Bound: 1,500 ms at 4× CPU slow-down.

Tap: from the tap on a condition term to the completion of the IndexedDB transaction that holds
its record and its change. Bound: 50 ms for 95 of 100. Peer: one bare IndexedDB write with the
same durability, in the same page and the same run.
"""

import os
import shutil
import statistics
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright

from tests.browser import museum, tablet
from tests.browser.conftest import launch
from tests.browser.server import Server, manage

LAUNCHES = 9
BROWSER_RESTS_MS = 2000
TAPS = 60
LAUNCH_BOUND_MS = 1500.0
TAP_BOUND_MS = 50.0

WATCH_LAUNCH = """
window.usableAt = new Promise((resolve) => {
  const look = () => {
    if (document.querySelector("main [data-field]")) {
      requestAnimationFrame(() => setTimeout(() => resolve(performance.now())));
    } else requestAnimationFrame(look);
  };
  look();
});
"""

WATCH_TAPS = """
window.durations = [];
let tappedAt = null;
document.addEventListener("click", (event) => {
  if (event.target.closest('[data-field^="term:"]')) tappedAt = event.timeStamp;
}, true);
const open = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (stores, mode, options) {
  const transaction = open.call(this, stores, mode, options);
  if (mode === "readwrite" && tappedAt !== null) {
    const began = tappedAt;
    transaction.addEventListener("complete", () => {
      if (tappedAt === null) return;
      window.durations.push(performance.now() - began);
      tappedAt = null;
    });
  }
  return transaction;
};
"""

BARE_WRITES = """
async (times) => {
  const database = await new Promise((resolve, reject) => {
    const request = indexedDB.open("bare-writes", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("rows", { keyPath: "id" });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const durations = [];
  for (let id = 0; id < times; id += 1) {
    const began = performance.now();
    await new Promise((resolve, reject) => {
      const transaction = database.transaction("rows", "readwrite", { durability: "strict" });
      transaction.objectStore("rows").put({ id, text: "x".repeat(300) });
      transaction.oncomplete = resolve;
      transaction.onabort = reject;
    });
    durations.push(performance.now() - began);
  }
  database.close();
  return durations;
}
"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        data = Path(folder) / "data"
        data.mkdir()
        if made_before := os.environ.get("FIELDLEAF_TEST_MUSEUM"):
            shutil.copytree(made_before, data, dirs_exist_ok=True)
        else:
            print("Seeding the museum …", flush=True)
            manage(data, "demo", "--no-serve")
        server = Server(data)
        server.start()
        try:
            route = prepare(playwright, Path(folder), server)
        finally:
            server.stop()
        for slow_down in (1, 4):
            report_launch(playwright, Path(folder), server, route, slow_down)
        for slow_down in (1, 4):
            report_taps(playwright, Path(folder), server, route, slow_down)


def prepare(playwright: Playwright, folder: Path, server: Server) -> str:
    """Sign in, carry everything, begin an examination. Returns its route."""
    browser = launch(playwright, folder / "tablet")
    page = tablet.open_app(browser, server)
    tablet.sign_in(page, *tablet.CONSERVATOR)
    tablet.wait_until_carried(page, 2000)
    tablet.start_visit(page, "storage-round")
    (number,) = museum.unexamined_objects(server.data, 1)
    tablet.find_and_examine(page, number)
    route = page.url.split("/field/")[1]
    tablet.send_all(page)
    browser.close()
    return route


def report_launch(
    playwright: Playwright, folder: Path, server: Server, route: str, slow_down: int
) -> None:
    times = []
    for _ in range(LAUNCHES):
        browser = launch(playwright, folder / "tablet", offline=True)
        page = slowed_page(browser, slow_down, WATCH_LAUNCH)
        page.wait_for_timeout(BROWSER_RESTS_MS)
        page.goto(f"{server.address}/field/{route}")
        times.append(float(page.evaluate("window.usableAt")))
        browser.close()
    median, worst = statistics.median(times), max(times)
    print(
        f"Launch offline to a usable form, {slow_down}× slow-down, {LAUNCHES} cold starts: "
        f"median {median:.0f} ms, worst {worst:.0f} ms; "
        f"worst / bound of {LAUNCH_BOUND_MS:.0f} ms = {worst / LAUNCH_BOUND_MS:.2f}",
        flush=True,
    )


def report_taps(
    playwright: Playwright, folder: Path, server: Server, route: str, slow_down: int
) -> None:
    browser = launch(playwright, folder / "tablet", offline=True)
    page = slowed_page(browser, slow_down, WATCH_TAPS)
    page.goto(f"{server.address}/field/{route}")
    expect(tablet.field(page, "term-search")).to_be_visible()
    taps = timed_taps(page)
    bare = [float(each) for each in page.evaluate(BARE_WRITES, TAPS)]
    browser.close()
    print(
        f"Tap on a term to durable, {slow_down}× slow-down, {len(taps)} taps: "
        f"median {statistics.median(taps):.1f} ms, p95 {p95(taps):.1f} ms; "
        f"p95 / bound of {TAP_BOUND_MS:.0f} ms = {p95(taps) / TAP_BOUND_MS:.2f}; "
        f"p95 / p95 of a bare write ({p95(bare):.1f} ms) = {p95(taps) / p95(bare):.2f}",
        flush=True,
    )


def timed_taps(page: Page) -> list[float]:
    """Tap unticked terms, group by group, until there are enough."""
    for group in page.locator('[data-field^="group:"]').all():
        group.click()
        for row in page.locator(".group-body .term-tick").all():
            if "ticked" in (row.get_attribute("class") or ""):
                continue
            done = len(page.evaluate("window.durations"))
            if done >= TAPS:
                return [float(each) for each in page.evaluate("window.durations")]
            row.click()
            page.wait_for_function("(n) => window.durations.length > n", arg=done)
    return [float(each) for each in page.evaluate("window.durations")]


def slowed_page(browser: BrowserContext, slow_down: int, script: str) -> Page:
    page = browser.new_page()
    page.add_init_script(script)
    browser.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slow_down})
    return page


def p95(values: Sequence[Any]) -> float:
    return statistics.quantiles(values, n=20, method="inclusive")[-1]


if __name__ == "__main__":
    main()
