"""Browsers as the tests of the tablet open them."""

from tests.browser.conftest import open_browser

__all__ = ["open_browser"]
