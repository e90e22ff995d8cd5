"""Work on a tablet that carries the small museum: quick to begin, and of any size."""

from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import museum, small_museum, tablet
from tests.browser.server import Server
from tests.browser.waiting import wait_for

# A sheet photographed once for each seed; the same seed and size make the same bytes.
PHOTOGRAPHED = """
async ([object, seeds, width, height]) => {
  const { create, addPhotograph } = await import("/field/store/write.js");
  const at = new Date().toISOString();
  const visit = await create("visit", { purpose: "bench", name: "Bench", started_at: at });
  const examination = await create("examination", { visit, object, started_at: at });
  const contents = [];
  for (const seed of seeds) {
    const canvas = new OffscreenCanvas(width, height);
    const ink = canvas.getContext("2d");
    const image = ink.createImageData(width, height);
    let state = seed + 1;
    for (let at = 0; at < image.data.length; at += 1) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      image.data[at] = at % 4 === 3 ? 255 : state >>> 24;
    }
    ink.putImageData(image, 0, 0);
    const file = await canvas.convertToBlob({ type: "image/png" });
    const shot = { examination, light: "raking", azimuth_deg: 290, side: "recto", file };
    const { id } = await addPhotograph(shot);
    const { db } = await import("/field/store/database.js");
    const { sha256, size_bytes } = await db.photographs.get(id);
    contents.push({ sha256, size_bytes });
  }
  return { examination, contents };
}
"""
NEW_VISIT = """
async (name) => {
  const { create } = await import("/field/store/write.js");
  await create("visit", { purpose: "bench", name, started_at: new Date().toISOString() });
}
"""
# Neither a change nor a file waits to be sent.
ALL_SENT = """
async () => {
  const { db } = await import("/field/store/database.js");
  const { filesToSend } = await import("/field/store/space.js");
  return (await db.outbox.count()) + (await filesToSend()).length === 0;
}
"""
OBJECT = str(small_museum.key("object", 0))
NUMBER = small_museum.NUMBERS[0]


def signed_in(
    browser: BrowserContext, address: str, username: str = small_museum.CONSERVATOR
) -> Page:
    """The app at an address, with the museum on the tablet and nothing waiting."""
    page = browser.pages[0] if browser.pages else browser.new_page()
    page.goto(f"{address}/field/")
    page.get_by_label("Name you sign in with").wait_for(timeout=60_000)
    tablet.sign_in(page, username, small_museum.PASSWORD)
    expect(page.locator(".sync-line")).to_contain_text("Sent", timeout=90_000)
    return page


def photograph(
    page: Page, *seeds: int, width: int = 300, height: int = 200
) -> list[dict[str, Any]]:
    """Examine the first sheet and photograph it; SHA-256 and size in bytes of each picture.

    300 × 200 pixels make some 200 kB, 1600 × 1100 some 6 MB.
    """
    made = page.evaluate(PHOTOGRAPHED, [OBJECT, list(seeds), width, height])
    contents: list[dict[str, Any]] = made["contents"]
    return contents


def begin_visit(page: Page, name: str) -> None:
    page.evaluate(NEW_VISIT, name)


def wait_until_sent(page: Page) -> None:
    """Wait until the app has sent all by itself, and says so.

    The database is asked first: what the app says follows a moment later, and what it says on the
    way may have gone before one looks.
    """
    wait_for(lambda: page.evaluate(ALL_SENT), page)
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)


def visits(server: Server, name: str) -> int:
    """How many visits of this name the server has."""
    query = "SELECT count(*) FROM examination_visit WHERE name = ?"
    [(count,)] = museum.read(server.data, query, name)
    return int(count)


def is_stored(server: Server, content: dict[str, Any]) -> bool:
    stored = museum.stored_bytes(server.data, content["sha256"])
    return stored is not None and len(stored) == content["size_bytes"]
