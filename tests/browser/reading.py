"""What a doubter would say of the page that is open."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page


def faults(page: Page) -> list[str]:
    """Too wide for the window, or a serious or critical violation that axe-core finds."""
    found = []
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append("wider than the window")
    for violation in Axe().run(page).response["violations"]:
        if violation["impact"] in ("serious", "critical"):
            found.append(f"{violation['id']}: {violation['nodes'][0]['html'][:160]}")
    return found
