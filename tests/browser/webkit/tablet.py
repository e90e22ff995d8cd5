"""What a person does on the tablet, in the words of the screens, by Selenium."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from selenium.common.exceptions import (
    ElementClickInterceptedException,
    NoSuchElementException,
    StaleElementReferenceException,
    WebDriverException,
)
from selenium.webdriver import WebKitGTK
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.wait import WebDriverWait

from tests.browser.server import Server

Answer = TypeVar("Answer")

PATIENCE_S = 20
# A screen may be drawn anew, or still move, between finding a thing and touching it.
NOT_YET = (
    NoSuchElementException,
    StaleElementReferenceException,
    ElementClickInterceptedException,
)


def wait(browser: WebKitGTK, until: Callable[[], Answer], seconds: float = PATIENCE_S) -> Answer:
    """Ask until the answer is true or not None, and return it."""
    return WebDriverWait(browser, seconds, 0.1, NOT_YET).until(lambda _: until())


def shown(browser: WebKitGTK, css: str) -> WebElement:
    """The first such element, once it is there."""
    return wait(browser, lambda: browser.find_element(By.CSS_SELECTOR, css))


def field(browser: WebKitGTK, key: str) -> WebElement:
    return shown(browser, f'[data-field="{key}"]')


def tap(browser: WebKitGTK, css: str) -> None:
    def touch() -> bool:
        element = browser.find_element(By.CSS_SELECTOR, css)
        # The head and the foot of a screen stand over its edges.
        browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
        element.click()
        return True

    wait(browser, touch)


def tap_words(browser: WebKitGTK, words: str) -> None:
    """Tap the button, the link or the row with these words."""
    path = (
        f"//*[self::button or self::a][normalize-space()='{words}' or "
        f".//*[normalize-space()='{words}']]"
    )
    wait(browser, lambda: browser.find_element(By.XPATH, path).click() or True)


def fill(browser: WebKitGTK, label: str, text: str) -> None:
    path = f"//*[@id = //label[normalize-space()='{label}']/@for]"
    box = wait(browser, lambda: browser.find_element(By.XPATH, path))
    box.clear()
    box.send_keys(text)


def wait_for_words(browser: WebKitGTK, css: str, words: str, seconds: float = PATIENCE_S) -> None:
    wait(browser, lambda: words in browser.find_element(By.CSS_SELECTOR, css).text, seconds)


def open_app(browser: WebKitGTK, server: Server, route: str = "") -> None:
    browser.get(f"{server.address}/field/{route}")


def open_again(browser: WebKitGTK, server: Server) -> None:
    """After a kill, with no server. A load that comes before WebKit has read from disk what serves
    the app fails at once; whoever holds the tablet loads it again."""

    def has_opened() -> bool:
        try:
            open_app(browser, server)
        except WebDriverException:
            return False
        return True

    wait(browser, has_opened)


def go_to(browser: WebKitGTK, route: str) -> None:
    browser.execute_script("location.hash = arguments[0]", route)


def sign_in(browser: WebKitGTK, username: str, password: str) -> None:
    fill(browser, "Name you sign in with", username)
    fill(browser, "Password", password)
    tap(browser, "button[form=sign-in]")
    wait_for_words(browser, "h1", "My visits")


def wait_until_carried(browser: WebKitGTK, objects: int) -> None:
    """Wait until the catalogue is on the tablet and the app is ready for use offline."""
    wait_for_words(browser, ".sync-line", "Sent", 90)
    assert held(browser, "objects.count()") == objects


def held(browser: WebKitGTK, of_database: str) -> Any:
    """What an expression about the tablet's database comes to, for example "objects.count()"."""
    return browser.execute_async_script(
        f"""const [answer] = arguments;
        import('/field/store/database.js')
          .then(({{ db }}) => db.{of_database})
          .then(answer, (error) => answer(String(error)));"""
    )


def held_file(browser: WebKitGTK, sha256: str) -> bytes:
    """A photograph's file as the tablet holds it."""
    read = ".then(({ blob }) => blob.arrayBuffer()).then((bytes) => [...new Uint8Array(bytes)])"
    return bytes(held(browser, f"originals.get('{sha256}'){read}"))


def start_visit(browser: WebKitGTK, purpose: str) -> None:
    go_to(browser, "#/start")
    choose(browser, "purpose", purpose)
    tap_words(browser, "Start this visit")
    wait_for_words(browser, "main", "Nothing examined yet.")


def find_and_examine(browser: WebKitGTK, accession_number: str) -> None:
    tap_words(browser, "Find an object")
    fill(browser, "Number, title, maker or place", accession_number)
    tap_words(browser, accession_number)
    tap_words(browser, "Examine")
    field(browser, "side-up:recto")


def choose(browser: WebKitGTK, name: str, value: str) -> None:
    """Tap the tile of a choice, as a finger does."""
    tap(browser, f'label.choice-tile:has(input[name="{name}"][value="{value}"])')


def photograph_by(browser: WebKitGTK, light: str, file: Path) -> None:
    """Open the slot of a light and choose a file there; waits for its thumbnail."""
    slot = f'li.light-slot:has([data-field="light:{light}"])'
    head = f'[data-field="light:{light}"]'

    def is_open() -> bool:
        if shown(browser, head).get_attribute("aria-expanded") == "true":
            return True
        # The form may still be moving under the finger, which then misses.
        tap(browser, head)
        return False

    wait(browser, is_open)
    if light == "raking":
        tap_words(browser, "+15°")
    before = len(browser.find_elements(By.CSS_SELECTOR, f"{slot} .shot"))
    field(browser, f"choose:{light}").send_keys(str(file))
    wait(
        browser,
        lambda: len(browser.find_elements(By.CSS_SELECTOR, f"{slot} .shot img")) == before + 1,
    )


def tick(browser: WebKitGTK, term: str, words: str) -> None:
    """Find a term by search and tick it; its editor opens."""
    field(browser, "term-search").send_keys(words)
    tap(browser, f'[data-field="term:{term}"]')
    shown(browser, ".observation-editor")


def say_of_observation(browser: WebKitGTK, part: str, value: str) -> None:
    tap(
        browser,
        f'.observation-editor label.choice-tile:has(input[data-field$=":{part}:{value}"])',
    )


def sign(browser: WebKitGTK) -> None:
    tap(browser, '[data-field="sign"]')
    wait(browser, lambda: "#/examination/" in browser.current_url)


def send_all(browser: WebKitGTK) -> None:
    go_to(browser, "#/sync")
    # While the app sends by itself, there is nothing to press.
    tap(browser, "footer button.button-next:enabled")
    wait_for_words(browser, ".sync-line", "Nothing waiting", 60)
