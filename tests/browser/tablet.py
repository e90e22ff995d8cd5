"""What a person does on the tablet, in the words of the screens."""

import io
import re

import numpy as np
from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page, expect

from survey.demo.museum.people import STAFF
from tests.browser.server import Server

CONSERVATOR, _, _, HEAD = ((one.username, one.password) for one in STAFF)
LIGHTS = ["normal", "raking", "transmitted", "specular", "ultraviolet"]


def open_app(context: BrowserContext, server: Server, route: str = "") -> Page:
    page = context.pages[0] if context.pages else context.new_page()
    page.goto(f"{server.address}/field/{route}")
    return page


def sign_in(page: Page, username: str, password: str) -> None:
    page.get_by_label("Name you sign in with").fill(username)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="My visits")).to_be_visible(timeout=30_000)


def wait_until_carried(page: Page, objects: int) -> None:
    """Wait until the catalogue is on the tablet and the app is ready for use offline."""
    expect(page.locator(".sync-line")).to_contain_text("Sent", timeout=90_000)
    carried = page.evaluate(
        "import('/field/store/database.js').then(({ db }) => db.objects.count())"
    )
    assert carried == objects


def start_visit(page: Page, purpose: str) -> None:
    page.goto(re.sub(r"#.*", "", page.url) + "#/start")
    choose(page, "purpose", purpose)
    page.get_by_role("button", name="Start this visit").click()
    expect(page.get_by_text("Nothing examined yet.")).to_be_visible()


def find_and_examine(page: Page, accession_number: str) -> None:
    page.get_by_role("link", name="Find an object").click()
    page.get_by_label("Number, title, maker or place").fill(accession_number)
    page.get_by_role("main").get_by_text(accession_number, exact=True).first.click()
    page.get_by_role("button", name="Examine", exact=True).click()
    expect(field(page, "side-up:recto")).to_be_attached()


def field(page: Page, key: str) -> Locator:
    return page.locator(f'[data-field="{key}"]')


def choose(page: Page, name: str, value: str) -> None:
    """Tap the tile of a choice, as a finger does."""
    page.locator(f'label.choice-tile:has(input[name="{name}"][value="{value}"])').first.click()


def photograph_by(page: Page, light: str, content: bytes, name: str = "shot.jpg") -> None:
    """Open the slot of a light and choose a file there; waits for its thumbnail."""
    head = field(page, f"light:{light}")
    if head.get_attribute("aria-expanded") != "true":
        head.click()
    slot = page.locator("li.light-slot").filter(has=head)
    if light == "raking":
        slot.get_by_role("button", name="+15°").click()
    before = slot.locator(".shot").count()
    field(page, f"choose:{light}").set_input_files(
        {"name": name, "mimeType": "image/jpeg", "buffer": content}
    )
    expect(slot.locator(".shot")).to_have_count(before + 1)


def tick(page: Page, term: str, words: str) -> None:
    """Find a term by search and tick it; its editor opens."""
    field(page, "term-search").fill(words)
    field(page, f"term:{term}").first.click()
    expect(page.locator(".observation-editor").first).to_be_visible()


def say_of_observation(page: Page, part: str, value: str) -> None:
    page.locator(
        f'.observation-editor label.choice-tile:has(input[data-field$=":{part}:{value}"])'
    ).first.click()


def recommend(page: Page, kind_of_work: str, hours: str) -> None:
    field(page, f"recommend:{kind_of_work}").click()
    page.get_by_label("Hours of work").last.fill(hours)


def sign(page: Page) -> None:
    field(page, "sign").click()
    page.wait_for_url("**/field/#/examination/*")


def send_all(page: Page) -> None:
    page.goto(re.sub(r"#.*", "", page.url) + "#/sync")
    # While the app sends by itself, there is nothing to press; then once more, for what that left.
    page.get_by_role("button", name="Send now").click(timeout=60_000)
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)


def shot(seed: int, width: int = 640, height: int = 480) -> bytes:
    """A small photograph whose bytes no other has."""
    random = np.random.default_rng(seed)
    ramp = np.linspace(120, 220, width)[None, :, None] + random.normal(0, 6, (height, width, 3))
    buffer = io.BytesIO()
    Image.fromarray(ramp.clip(0, 255).astype(np.uint8)).save(buffer, "JPEG", quality=88)
    return buffer.getvalue()
