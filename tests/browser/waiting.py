"""Waiting for what no locator tells, such as what lies in a database or in a folder."""

import time
from collections.abc import Callable

from playwright.sync_api import Page


def wait_for(holds: Callable[[], bool], page: Page | None = None, seconds: float = 90) -> None:
    """Ask until it holds; of a page's database by ``page.evaluate``.

    ``page.wait_for_function`` does not wait for a function that is async: it takes the promise for
    a yes.
    """
    deadline = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < deadline, "It did not come to that in time."
        if page:
            page.wait_for_timeout(100)
        else:
            time.sleep(0.1)
