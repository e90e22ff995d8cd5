"""WebKit at tablet and phone size, where Debian's packages of it are installed."""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from selenium.webdriver import WebKitGTK, WebKitGTKOptions
from selenium.webdriver.webkitgtk.service import Service

from survey import bootstrap
from tests.browser.conftest import TABLET

BROWSER = Path(__file__).with_name("browser.py")
# Nothing of the desktop that happens to be round the tests has a say in them.
SURROUNDINGS = {
    "GDK_BACKEND": "x11",
    "GIO_USE_NETWORK_MONITOR": "base",
    "GIO_USE_VFS": "local",
    "GSETTINGS_BACKEND": "memory",
    "NO_AT_BRIDGE": "1",
    "LIBGL_ALWAYS_SOFTWARE": "1",
    "no_proxy": "127.0.0.1,localhost",
}

Opener = Callable[..., WebKitGTK]


@pytest.fixture(scope="session")
def display() -> Iterator[str]:
    """A screen that nobody sees."""
    if lacking := ", ".join(bootstrap.lacking_for_webkit()):
        pytest.skip(f"WebKit is not installed here: these packages are absent: {lacking}")
    told, tell = os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(tell), "-screen", "0", "1440x1000x24", "-nolisten", "tcp"],
        pass_fds=[tell],
        stderr=subprocess.DEVNULL,
    )
    os.close(tell)
    with os.fdopen(told) as number:
        yield f":{number.readline().strip()}"
    screen.terminate()
    screen.wait(timeout=30)


@pytest.fixture
def open_webkit(display: str, tmp_path: Path) -> Iterator[Opener]:
    """Opens WebKit on a profile that outlives it, as a tablet's does."""
    opened: list[WebKitGTK] = []

    def open_one(profile: str = "webkit", size: dict[str, int] = TABLET) -> WebKitGTK:
        options = WebKitGTKOptions()
        options.ignore_local_proxy_environment_variables()
        options.binary_location = bootstrap.SYSTEM_PYTHON
        for argument in (BROWSER, tmp_path / profile, size["width"], size["height"]):
            options.add_argument(str(argument))
        # With the driver's path given, Selenium looks for none and asks no network.
        service = Service(
            shutil.which("WebKitWebDriver"),
            log_output=str(tmp_path / f"{profile}.log"),
            env={**os.environ, **SURROUNDINGS, "DISPLAY": display},
        )
        browser = WebKitGTK(options=options, service=service)
        opened.append(browser)
        # A browser that hangs fails the test, not the whole run.
        browser.command_executor.client_config.timeout = 120
        browser.set_page_load_timeout(60)
        browser.set_script_timeout(60)
        return browser

    yield open_one
    for browser in opened:
        browser.quit()
