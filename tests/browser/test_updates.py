"""Old tablets, new apps, old servers: whatever meets whatever, unsent work is kept and sent."""

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Page, expect

from tests.browser import frozen, museum, small_museum, tablet
from tests.browser.conftest import Opener
from tests.browser.server import Server

FROZEN = sorted(frozen.FOLDER.glob("version-*.json"))
LEFT = """
async () => {
  const { db } = await import("/field/store/database.js");
  const { filesToSend } = await import("/field/store/space.js");
  return {
    outbox: (await db.outbox.toArray()).map((change) => change.state),
    unsent: (await filesToSend()).length,
    rows: Object.fromEntries(
      await Promise.all(db.tables.map(async (table) => [table.name, await table.toArray()])),
    ),
  };
}
"""
MEND = """
async (id) => {
  const { save } = await import("/field/store/write.js");
  await save("observation", id, { severity: "moderate" });
}
"""


@pytest.fixture
def small_server(tmp_path: Path) -> Iterator[Server]:
    """A server with the small museum, and the devices of every frozen tablet."""
    (tmp_path / "small").mkdir()
    server = Server(tmp_path / "small")
    yield server
    server.stop()


def setting(database: dict[str, Any], key: str) -> Any:
    return next(row["value"] for row in frozen.rows(database, "settings") if row["key"] == key)


def post(server: Server, path: str, body: Any, token: str = "") -> Any:
    headers = {"Content-Type": "application/json", "Authorization": f"Device {token}"}
    if not token:
        del headers["Authorization"]
    request = Request(server.address + path, json.dumps(body).encode(), headers)
    with urlopen(request, timeout=30) as answer:
        return json.load(answer)


def server_had(server: Server, change: dict[str, Any], device: str) -> None:
    """The change reached the server; the answer never reached the tablet."""
    credentials = {"username": small_museum.CONSERVATOR, "password": small_museum.PASSWORD}
    token = post(server, "/api/sign-in", {**credentials, "device_id": device})["token"]
    sent = {name: change[name] for name in ("id", "entity", "entity_id", "fields", "base", "at")}
    [result] = post(server, "/api/sync/push", {"changes": [sent]}, token)["results"]
    assert result["outcome"] == "applied"


def send_again(page: Page) -> None:
    page.evaluate("import('/field/sync/engine.js').then(({ syncNow }) => syncNow())")


@pytest.mark.parametrize("path", FROZEN, ids=lambda path: path.stem)
def test_unsent_work_of_an_older_app_is_sent_to_the_byte(
    small_server: Server, open_browser: Opener, path: Path
) -> None:
    server, old = small_server, frozen.read(path)
    device = setting(old, "last_device")
    changes = frozen.rows(old, "outbox")
    states = {state: [c for c in changes if c["state"] == state] for state in
              ("waiting", "sending", "refused")}  # fmt: skip
    assert all(states.values())
    frozen.give_museum(server, {small_museum.CONSERVATOR: device})
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
    for store in ("visits", "examinations", "observations", "measurements", "photographs"):
        before = {row["id"] for row in frozen.rows(old, store)}
        assert before <= {row["id"] for row in left["rows"][store]}
    [refused] = states["refused"]
    page.evaluate(MEND, refused["entity_id"])
    send_again(page)
    assert page.evaluate(LEFT)["outbox"] == []

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
    for original in frozen.rows(old, "originals"):
        content = base64.b64decode(original["blob"]["$blob"])
        assert museum.stored_bytes(server.data, original["sha256"]) == content
