"""Old tablets, new apps, old servers: whatever meets whatever, unsent work is kept and sent."""

import base64
import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Error, Page, expect

from tests.browser import frozen, museum, small_museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server, copy_of_the_code
from tests.browser.small_tablet import (
    LEFT,
    post,
    send_again,
    signed_in,
    wait_until_nothing_waits,
)

FROZEN = sorted(frozen.FOLDER.glob("version-*.json"))
MEND = """
async (id) => {
  const { save } = await import("/field/store/write.js");
  await save("observation", id, { severity: "moderate" });
}
"""


def setting(database: dict[str, Any], key: str) -> Any:
    return next(row["value"] for row in frozen.rows(database, "settings") if row["key"] == key)


def server_had(server: Server, change: dict[str, Any], device: str) -> None:
    """The change reached the server; the answer never reached the tablet."""
    credentials = {"username": small_museum.CONSERVATOR, "password": small_museum.PASSWORD}
    token = post(server, "/api/sign-in", {**credentials, "device_id": device})["token"]
    sent = {name: change[name] for name in ("id", "entity", "entity_id", "fields", "base", "at")}
    [result] = post(server, "/api/sync/push", {"changes": [sent]}, token)["results"]
    assert result["outcome"] == "applied"


@pytest.mark.parametrize("path", FROZEN, ids=lambda path: path.stem)
def test_unsent_work_of_an_older_app_is_sent_to_the_byte(
    bare_server: Server, open_browser: Opener, path: Path
) -> None:
    server, old = bare_server, frozen.read(path)
    device = setting(old, "last_device")
    changes = frozen.rows(old, "outbox")
    states = {state: [c for c in changes if c["state"] == state] for state in
              ("waiting", "sending", "refused")}  # fmt: skip
    assert all(states.values())
    frozen.give_museum(server, {small_museum.CONSERVATOR: device}, lends=True)
    server.start()
    server_had(server, states["sending"][0], device)
    browser = open_browser()
    page = browser.new_page()
    frozen.put_in(page, server.address, old)

    page.goto(f"{server.address}/field/#/sync")
    expect(page.get_by_role("main")).to_contain_text("Needs you")
    page.goto(f"{server.address}/field/#/sign-in")
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    send_again(page)

    # All is sent, but what had been refused, which waits for the person as before.
    left = page.evaluate(LEFT)
    assert (left["outbox"], left["unsent"]) == (["refused"], 0)
    stores = {"visits", "examinations", "observations", "measurements", "photographs", "watermarks"}
    stores |= {"loan_checks", "point_checks", "signatures"}
    for store in stores & set(old["stores"]):
        before = {row["id"] for row in frozen.rows(old, store)}
        assert before <= {row["id"] for row in left["rows"][store]}
    [refused] = states["refused"]
    page.evaluate(MEND, refused["entity_id"])
    wait_until_nothing_waits(page)

    # Each change is in the server's log once, as the tablet had it.
    logged = museum.read(
        server.data,
        "SELECT id, fields, outcome FROM sync_change WHERE device_id = ? ORDER BY number",
        device.replace("-", ""),
    )
    answered = [change for change in changes if change["state"] != "refused"]
    assert [(key, json.loads(fields)) for key, fields, _ in logged[:-1]] == [
        (change["id"].replace("-", ""), change["fields"]) for change in answered
    ]
    assert {outcome for _, _, outcome in logged} == {"applied"}
    assert json.loads(logged[-1][1]) == {**refused["fields"], "severity": "moderate"}
    answers = {change["settles"] for change in changes if "settles" in change}
    settled = museum.read(server.data, "SELECT id FROM sync_openquestion WHERE settled_at NOTNULL")
    assert {key for (key,) in settled} == {key.replace("-", "") for key in answers}
    for original in frozen.rows(old, "originals"):
        content = base64.b64decode(original["blob"]["$blob"])
        assert museum.stored_bytes(server.data, original["sha256"]) == content


EXAMINE = """
async () => {
  const { create } = await import("/field/store/write.js");
  const { db } = await import("/field/store/database.js");
  const object = await db.objects.toCollection().first();
  const at = new Date().toISOString();
  const visit = await create("visit", { purpose: "bench", name: "Unsent", started_at: at });
  return create("examination", { visit, object: object.id, started_at: at, notes: "Cockled." });
}
"""
SAVE = """
async ([id, notes]) => {
  const { save } = await import("/field/store/write.js");
  await save("examination", id, { notes });
}
"""
TOMORROWS_SCHEMA = """
db.version(90).stores({ observations: "id, examination, term", loans: "id" }).upgrade((old) =>
  old.table("examinations").toCollection().modify({ _seenByTomorrow: true }),
);
"""


def restart(server: Server, root: Path) -> None:
    server.stop()
    server.root = root
    server.start()


def tomorrow(folder: Path) -> Path:
    """The code with a further, really different schema."""
    root = copy_of_the_code(folder)
    database = root / "frontend/store/database.js"
    code = database.read_text()
    before = "keepVersionsApart(db);"
    assert before in code
    database.write_text(code.replace(before, TOMORROWS_SCHEMA + before))
    return root


def notes_on_the_server(server: Server, examination: str) -> Any:
    key = examination.replace("-", "")
    return museum.read(server.data, "SELECT notes FROM examination_examination WHERE id = ?", key)


def test_an_old_window_lets_go_of_the_database_for_a_new_one_and_says_so(
    bare_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    server = bare_server
    frozen.give_museum(server, {})
    server.start()
    # Without a service worker, which would load both windows anew at once.
    browser = open_browser(service_workers="block")
    old = signed_in(browser, server)
    browser.route("**/api/**", lambda route: route.abort())
    examination = old.evaluate(EXAMINE)
    restart(server, tomorrow(tmp_path / "tomorrow"))

    new = browser.new_page()
    new.goto(f"{server.address}/field/#/visits")
    expect(new.get_by_text("Unsent")).to_be_visible()
    expect(old.locator(".messages")).to_contain_text("A newer Fieldleaf was opened")
    with pytest.raises(Error, match="This window saves nothing more"):
        old.evaluate(SAVE, [examination, "Lost?"])
    old.get_by_role("button", name="Load Fieldleaf again").click()
    expect(old.locator(".messages")).not_to_contain_text("A newer Fieldleaf")
    old.evaluate(SAVE, [examination, "Cockled along the foot."])

    browser.unroute("**/api/**")
    wait_until_nothing_waits(new)
    assert notes_on_the_server(server, examination) == [("Cockled along the foot.",)]


def test_an_older_app_leaves_a_newer_database_alone_and_says_so(
    bare_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    server = bare_server
    today = server.root
    server.root = tomorrow(tmp_path / "tomorrow")
    frozen.give_museum(server, {})
    server.start()
    browser = open_browser(service_workers="block")
    page = signed_in(browser, server)
    browser.route("**/api/**", lambda route: route.abort())
    examination = page.evaluate(EXAMINE)
    page.close()

    restart(server, today)
    page = browser.new_page()
    frozen_before = taken_out(page, server)
    page.goto(f"{server.address}/field/#/visits")
    expect(page.locator(".messages")).to_contain_text("belong to a newer Fieldleaf than this one")
    page.reload()
    expect(page.locator(".messages")).to_contain_text("All of them are kept")
    assert taken_out(page, server) == frozen_before

    restart(server, tmp_path / "tomorrow")
    browser.unroute("**/api/**")
    page.goto(f"{server.address}/field/#/visits")
    expect(page.get_by_text("Unsent")).to_be_visible()
    wait_until_nothing_waits(page)
    assert notes_on_the_server(server, examination) == [("Cockled.",)]


def taken_out(page: Page, server: Server) -> dict[str, Any]:
    page.goto(f"{server.address}/field/icon.svg")
    return frozen.take_out(page)


def speaking(folder: Path, version: int) -> Path:
    """Server and app that speak another version of the protocol, and only that."""
    root = copy_of_the_code(folder)
    for path, before, after in (
        ("survey/sync/protocol.py", "OLDEST = 1\nNEWEST = 1", "OLDEST = {0}\nNEWEST = {0}"),
        ("frontend/store/server.js", "const PROTOCOL = 1;", "const PROTOCOL = {0};"),
    ):
        code = (root / path).read_text()
        assert before in code
        (root / path).write_text(code.replace(before, after.format(version)))
    return root


def test_an_app_too_old_for_the_server_keeps_the_work_and_sends_it_once_it_is_renewed(
    bare_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    server = bare_server
    frozen.give_museum(server, {})
    server.start()
    page = signed_in(open_browser(), server)
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    page.reload()
    server.stop()
    examination = page.evaluate(EXAMINE)
    server.root = speaking(tmp_path / "next", 2)
    server.start()

    send_again(page)
    expect(page.locator(".messages")).to_contain_text("too old for the server. Your work is kept")
    assert set(page.evaluate(LEFT)["outbox"]) == {"waiting"}
    # The service worker has looked for the new version by itself.
    page.get_by_role("button", name="Use the new version").click(timeout=60_000)
    expect(page.locator(".messages")).not_to_contain_text("too old for the server")
    expect(page.get_by_role("button", name="Use the new version")).to_have_count(0)
    wait_until_nothing_waits(page)
    assert notes_on_the_server(server, examination) == [("Cockled.",)]


def test_a_server_older_than_the_app_is_named_and_the_work_kept(
    bare_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    server = bare_server
    today = server.root
    server.root = speaking(tmp_path / "next", 2)
    frozen.give_museum(server, {})
    server.start()
    browser = open_browser()
    page = signed_in(browser, server)
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    server.stop()
    examination = page.evaluate(EXAMINE)
    server.root = today
    server.start()

    send_again(page)
    expect(page.locator(".messages")).to_contain_text("The server is older than this app")
    assert set(page.evaluate(LEFT)["outbox"]) == {"waiting"}
    restart(server, tmp_path / "next")
    wait_until_nothing_waits(page)
    expect(page.locator(".messages")).not_to_contain_text("The server is older")
    assert notes_on_the_server(server, examination) == [("Cockled.",)]
