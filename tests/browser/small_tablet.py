"""A tablet of the small museum: signed in, sending, and asked what it still holds."""

import json
import re
from typing import Any
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.browser import small_museum, tablet
from tests.browser.server import Server

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


def signed_in(browser: BrowserContext, server: Server) -> Page:
    page = browser.new_page()
    page.goto(f"{server.address}/field/#/sign-in")
    tablet.sign_in(page, small_museum.CONSERVATOR, small_museum.PASSWORD)
    page.locator(".sync-line", has_text=re.compile("Needs you|open question")).wait_for(
        timeout=90_000
    )
    return page


def post(server: Server, path: str, body: Any, token: str = "") -> Any:
    headers = {"Content-Type": "application/json", "Authorization": f"Device {token}"}
    if not token:
        del headers["Authorization"]
    request = Request(server.address + path, json.dumps(body).encode(), headers)
    with urlopen(request, timeout=30) as answer:
        return json.load(answer)


def send_again(page: Page) -> None:
    page.evaluate("import('/field/sync/engine.js').then(({ syncNow }) => syncNow())")


def wait_until_nothing_waits(page: Page) -> None:
    """Send, here or in another window, which may be at it already."""
    for _ in range(100):
        send_again(page)
        if not page.evaluate(LEFT)["outbox"]:
            return
        page.wait_for_timeout(200)
    pytest.fail("Something still waits to be sent.")
