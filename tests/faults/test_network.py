"""A network that spoils what passes: the work goes on, and in the end all has arrived, once."""

import random
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import expect

from tests.browser import museum
from tests.browser.server import copy_of_the_code
from tests.browser.waiting import wait_for
from tests.faults import proxy
from tests.faults.bench import Bench
from tests.faults.proxy import FaultProxy, Rule

SPOILING = [
    proxy.DROP_REQUEST,
    proxy.DROP_ANSWER,
    proxy.DELAY,
    proxy.TRUNCATE,
    proxy.DUPLICATE,
    proxy.CORRUPT,
    proxy.CORRUPT_REQUEST,
]


@pytest.fixture
def bench(make_bench: Callable[..., Bench]) -> Bench:
    return make_bench(seed=7)


@pytest.fixture
def between(bench: Bench) -> Iterator[FaultProxy]:
    """A proxy that still passes everything on; the tablet was signed in through it."""
    between = FaultProxy(bench.server.port)
    bench.address = between.address
    bench.begin()
    yield between
    between.stop()


def now_and_then(faults: list[str], share: float) -> Rule:
    chance = random.Random(3)

    def rule(method: str, path: str) -> str | None:
        concerned = path.startswith("/api/") and chance.random() < share
        return chance.choice(faults) if concerned else None

    return rule


def work_for_a_while(bench: Bench) -> None:
    examiner = bench.examiner
    for do in (examiner.type_notes, examiner.photograph, examiner.write_a_few,
               examiner.tick_a_term, examiner.photograph, examiner.write_a_few):  # fmt: skip
        do()
        examiner.page.wait_for_timeout(300)


def assert_all_arrives_once(bench: Bench, between: FaultProxy, trouble: str) -> None:
    between.rule = proxy.pass_all
    bench.count()
    assert bench.ledger.told == [], trouble


def test_no_trouble_on_the_way_loses_doubles_or_alters_anything(
    bench: Bench, between: FaultProxy
) -> None:
    for fault in SPOILING:
        between.rule = now_and_then([fault], 0.6)
        work_for_a_while(bench)
        # How many requests there are by then, the machine decides; the app goes on asking.
        wait_for(lambda fault=fault: between.done[fault] >= 3, bench.examiner.page)
        assert_all_arrives_once(bench, between, fault)
    between.rule = now_and_then(SPOILING, 0.7)
    work_for_a_while(bench)
    assert_all_arrives_once(bench, between, "all kinds mixed")


def test_a_network_s_own_page_is_told_in_a_sentence_and_takes_nothing(
    bench: Bench, between: FaultProxy
) -> None:
    between.rule = lambda method, path: proxy.PORTAL
    work_for_a_while(bench)
    page = bench.examiner.page
    page.evaluate("location.hash = '#/sync'")
    expect(page.get_by_role("main")).to_contain_text("Something other than the Fieldleaf server")
    assert museum.read(bench.server.data, "SELECT count(*) FROM sync_upload") == [(0,)]
    assert_all_arrives_once(bench, between, "a captive portal")


FETCH_ANEW = """
async () => {
  const { db } = await import("/field/store/database.js");
  await db.settings.delete("pull");
  await (await import("/field/sync/engine.js")).syncNow();
}
"""
TITLES = """
async () => {
  const { db } = await import("/field/store/database.js");
  return (await db.objects.toArray()).map((row) => row.title).sort();
}
"""


def test_an_answer_that_was_altered_on_the_way_is_told_and_not_taken(
    bench: Bench, between: FaultProxy
) -> None:
    page = bench.examiner.page
    titles = page.evaluate(TITLES)
    between.alter = lambda body: body.replace(b"Reeds", b"Weeds")
    between.rule = lambda method, path: proxy.CORRUPT if "/sync/pull" in path else None
    page.evaluate(FETCH_ANEW)
    assert page.evaluate(TITLES) == titles
    page.evaluate("location.hash = '#/sync'")
    expect(page.get_by_role("main")).to_contain_text("alters what is sent")
    assert_all_arrives_once(bench, between, "altered answers")


UPDATE = "navigator.serviceWorker.getRegistration().then((one) => one.update().catch(() => {}))"
INSTALLING = """
async () => {
  const one = await navigator.serviceWorker.getRegistration();
  return Boolean(one.installing || one.waiting);
}
"""


def test_an_update_through_such_a_network_leaves_the_app_as_it_was(
    bench: Bench, between: FaultProxy, next_version: None
) -> None:
    bench.server.stop()
    bench.server.start()

    def only_the_worker_gets_through(method: str, path: str) -> str | None:
        return None if path.endswith("service-worker.js") else proxy.PORTAL

    between.rule = only_the_worker_gets_through
    page = bench.examiner.page
    page.evaluate(UPDATE)
    while page.evaluate(INSTALLING):
        page.wait_for_timeout(100)
    assert between.done[proxy.PORTAL] > 0
    bench.server.stop()
    page.reload()
    bench.examiner.open_form()
    bench.examiner.type_notes()
    bench.server.start()
    assert_all_arrives_once(bench, between, "an update that was no update")
    # The real one is taken as soon as it comes whole.
    page.evaluate(UPDATE)
    expect(page.get_by_role("button", name="Use the new version")).to_be_visible(timeout=60_000)


@pytest.fixture
def next_version(bench: Bench) -> None:
    """The server is started on other code the next time."""
    bench.server.root = copy_of_the_code(bench.profile.parent / "next-version")
    with (bench.server.root / "frontend/styles/base.css").open("a") as styles:
        styles.write("/* The next version. */")
