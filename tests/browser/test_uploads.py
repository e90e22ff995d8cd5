"""Photographs on their way: in pieces, each once, and never in the way of the records."""

import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser import field_work, museum
from tests.browser.conftest import Opener
from tests.browser.server import Server
from tests.browser.waiting import wait_for
from tests.faults.proxy import CORRUPT_REQUEST, DROP_REQUEST, FaultProxy

LARGE = {"width": 1600, "height": 1100}


@pytest.fixture
def proxy(small_server: Server) -> Iterator[FaultProxy]:
    proxy = FaultProxy(small_server.port)
    yield proxy
    proxy.stop()


def slowly(seconds: float) -> Callable[[str, str], str | None]:
    """A rule that lets each piece of an upload wait."""

    def rule(method: str, path: str) -> None:
        if method == "PATCH":
            time.sleep(seconds)

    return rule


def accepted(proxy: FaultProxy) -> list[tuple[int, int]]:
    """Where the pieces that the server took begin and end, in order."""
    taken = [piece for piece in proxy.pieces if piece.status == 204]
    return sorted((piece.offset, piece.offset + piece.size) for piece in taken)


def assert_each_byte_came_once(proxy: FaultProxy, size: int) -> None:
    # The proxy notes the last piece a moment after the server has stored it.
    wait_for(lambda: any(end == size for _, end in accepted(proxy)), seconds=10)
    begins = [begin for begin, _ in accepted(proxy)]
    ends = [end for _, end in accepted(proxy)]
    assert begins == [0, *ends[:-1]], proxy.pieces
    assert ends[-1] == size, proxy.pieces


def creations(server: Server, content: dict[str, Any]) -> int:
    query = "SELECT count(*) FROM sync_upload WHERE sha256 = ?"
    [(count,)] = museum.read(server.data, query, content["sha256"])
    return int(count)


def closed_in_the_middle(browser: BrowserContext, proxy: FaultProxy, seed: int) -> dict[str, Any]:
    """A large photograph of which two pieces have gone when the browser is closed."""
    page = field_work.signed_in(browser, proxy.address)

    def no_third(method: str, path: str) -> str | None:
        # However long it takes to close, the photograph does not get through meanwhile.
        return DROP_REQUEST if method == "PATCH" and len(proxy.pieces) >= 2 else None

    proxy.rule = no_third
    [content] = field_work.photograph(page, seed, **LARGE)
    wait_for(lambda: len(proxy.pieces) >= 2, page)
    browser.close()
    return content


def test_an_upload_goes_on_where_it_stood_when_the_app_was_closed_in_the_middle(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    content = closed_in_the_middle(open_browser(), proxy, 1)
    in_the_middle = accepted(proxy)
    assert not field_work.is_stored(small_server, content)

    proxy.rule = slowly(0)
    page = open_browser().pages[0]
    page.goto(f"{proxy.address}/field/")
    wait_for(lambda: field_work.is_stored(small_server, content), page)

    assert_each_byte_came_once(proxy, content["size_bytes"])
    assert len(in_the_middle) >= 2
    assert creations(small_server, content) == 1


def test_a_piece_damaged_on_the_way_is_noticed_and_sent_again(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    page = field_work.signed_in(open_browser(), proxy.address)
    patches = iter(range(1, 1000))

    def damage_the_second(method: str, path: str) -> str | None:
        return CORRUPT_REQUEST if method == "PATCH" and next(patches) == 2 else None

    proxy.rule = damage_the_second
    [content] = field_work.photograph(page, 2, **LARGE)
    wait_for(lambda: field_work.is_stored(small_server, content), page)

    damaged = [piece for piece in proxy.pieces if piece.status == 460]
    assert [piece.offset for piece in damaged] == [accepted(proxy)[1][0]]
    assert_each_byte_came_once(proxy, content["size_bytes"])
    assert creations(small_server, content) == 1


def test_the_same_picture_is_sent_once_by_one_tablet_and_never_by_another(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    first = field_work.signed_in(open_browser(), proxy.address)
    content, same = field_work.photograph(first, 3, 3)
    assert content == same
    wait_for(lambda: bool(proxy.pieces), first)
    expect(first.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)
    assert accepted(proxy) == [(0, content["size_bytes"])]

    proxy.pieces.clear()
    second = field_work.signed_in(open_browser("another"), proxy.address)
    assert field_work.photograph(second, 3) == [content]
    field_work.wait_until_sent(second)
    assert proxy.pieces == []
    assert creations(small_server, content) == 1


def test_a_record_goes_at_once_while_a_long_upload_runs(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    page = field_work.signed_in(open_browser(), proxy.address)
    proxy.rule = slowly(4)
    contents = field_work.photograph(page, 4, 5, 6, 7, **LARGE)
    wait_for(lambda: len(proxy.pieces) >= 1, page)

    field_work.begin_visit(page, "Begun meanwhile")
    wait_for(lambda: field_work.visits(small_server, "Begun meanwhile") == 1, page, 20)
    assert not all(field_work.is_stored(small_server, content) for content in contents)

    # Several at a time: pieces of more than one file have gone by then.
    wait_for(lambda: len({piece.path for piece in proxy.pieces}) >= 2, page)
    proxy.rule = slowly(0)
    wait_for(lambda: all(field_work.is_stored(small_server, each) for each in contents), page)


def test_an_upload_that_the_server_has_let_go_begins_anew(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    content = closed_in_the_middle(open_browser(), proxy, 8)
    museum.write(small_server.data, "UPDATE sync_upload SET expires_at = '2020-01-01 00:00:00'")

    proxy.pieces.clear()
    proxy.rule = slowly(0)
    page = open_browser().pages[0]
    page.goto(f"{proxy.address}/field/")
    wait_for(lambda: field_work.is_stored(small_server, content), page)
    assert_each_byte_came_once(proxy, content["size_bytes"])
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)


def test_photographs_are_held_until_the_person_says_so(
    small_server: Server, open_browser: Opener
) -> None:
    page = field_work.signed_in(open_browser(), small_server.address)
    page.evaluate("location.hash = '#/sync'")
    page.get_by_text("Hold photographs until I say so").click()
    contents = field_work.photograph(page, 9, 10)
    field_work.begin_visit(page, "Records go on")

    wait_for(lambda: field_work.visits(small_server, "Records go on") == 1, page)
    held = page.get_by_text("Photographs held: 2, ").last
    expect(held).to_be_visible()
    expect(page.locator(".sync-line")).to_contain_text("Photographs held: 2")
    assert not any(field_work.is_stored(small_server, each) for each in contents)

    # The word holds after the app was closed.
    page.reload()
    expect(page.locator(".sync-line")).to_contain_text("Photographs held: 2", timeout=60_000)
    page.wait_for_timeout(3000)
    assert not any(field_work.is_stored(small_server, each) for each in contents)

    page.get_by_role("button", name="Send them now").click()
    wait_for(lambda: all(field_work.is_stored(small_server, each) for each in contents), page)
    expect(page.locator(".sync-line")).to_contain_text("Nothing waiting", timeout=60_000)
    # For those that waited only: the next are held again.
    field_work.photograph(page, 11)
    expect(page.locator(".sync-line")).to_contain_text("Photographs held: 1", timeout=60_000)


METERED = """
const network = Object.assign(new EventTarget(), { type: "cellular", saveData: false });
Object.defineProperty(navigator, "connection", { value: network, configurable: true });
"""


def test_photographs_wait_for_a_network_that_is_not_metered(
    small_server: Server, open_browser: Opener
) -> None:
    browser = open_browser()
    browser.add_init_script(METERED)
    page = field_work.signed_in(browser, small_server.address)
    page.evaluate("location.hash = '#/sync'")
    page.get_by_text("Only on networks that are not metered").click()
    [content] = field_work.photograph(page, 12)
    expect(page.locator(".sync-line")).to_contain_text("Photographs held: 1", timeout=60_000)
    page.wait_for_timeout(3000)
    assert not field_work.is_stored(small_server, content)

    page.evaluate(
        "navigator.connection.type = 'wifi';"
        "navigator.connection.dispatchEvent(new Event('change'));"
    )
    wait_for(lambda: field_work.is_stored(small_server, content), page)


def test_the_way_of_each_photograph_and_of_all_is_shown(
    small_server: Server, proxy: FaultProxy, open_browser: Opener
) -> None:
    page = field_work.signed_in(open_browser(), proxy.address)
    page.evaluate("location.hash = '#/sync'")
    # So slowly that each state that is looked for is there for some seconds.
    proxy.rule = slowly(4)
    [large] = field_work.photograph(page, 13, **LARGE)
    [small] = field_work.photograph(page, 14)

    row = page.locator(".photograph-waiting").filter(has_text="of 6.1 MB")
    expect(row).to_contain_text(field_work.NUMBER)
    expect(row).to_contain_text("raking light, 290°, recto")
    expect(row.locator("img")).to_be_visible()
    expect(row).to_contain_text("2.1 MB of 6.1 MB sent, under way", timeout=60_000)
    section = page.locator("section").filter(has_text="Photographs on their way")
    expect(section).to_contain_text("1 of 2 photographs sent, ", timeout=60_000)
    expect(section.get_by_role("status")).to_contain_text("% of the photographs' bytes sent")
    proxy.rule = slowly(0)
    wait_for(lambda: field_work.is_stored(small_server, large), page)
    assert field_work.is_stored(small_server, small)
    expect(section).to_have_count(0)
