"""Parts of a screen that are loaded when they are first opened: whenever they come, they show."""

from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.server import Server

IN_PAGE = """
async (play) => {
  const { lazy } = await import("/field/components/lazy.js");
  const { html, render } = await import("/field/vendor/ui.js");
  const Whole = () => html`<b>The whole part</b>`;
  const place = document.body.appendChild(document.createElement("div"));
  place.id = "place";
  const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
  if (play === "in between") {
    let give;
    const Part = lazy(() => new Promise((resolve) => (give = resolve)));
    await wait(2500);
    render(html`<${Part} />`, place);
    give(Whole);
  } else {
    let times = 0;
    const Part = lazy(async () => {
      times += 1;
      if (times < 5) throw new TypeError("Failed to fetch");
      return Whole;
    });
    render(html`<${Part} />`, place);
  }
}
"""


def played(server: Server, open_browser: Opener, play: str) -> Page:
    """The app with a lazy part in it that comes in that way."""
    server.start()
    page = open_browser().new_page()
    page.goto(f"{server.address}/field/")
    page.evaluate(IN_PAGE, play)
    return page


def test_a_part_that_comes_between_drawing_and_asking_is_shown(
    bare_server: Server, open_browser: Opener
) -> None:
    page = played(bare_server, open_browser, "in between")
    expect(page.locator("#place")).to_have_text("The whole part")


def test_a_part_that_cannot_be_had_is_told_and_asked_for_again(
    bare_server: Server, open_browser: Opener
) -> None:
    page = played(bare_server, open_browser, "after some tries")
    expect(page.locator("#place")).to_contain_text("not on the device yet")
    expect(page.locator("#place")).to_have_text("The whole part")
