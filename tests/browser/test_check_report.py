"""The report of a check, made on a phone without a network: on the screen, printed, and saved."""

import hashlib
import json
import re
import subprocess
import sys
from datetime import date, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser import checked_sheet, reading, small_tablet
from tests.browser.conftest import Opener
from tests.browser.server import ROOT, Server
from tests.browser.test_signing import (
    KEPT,
    faults_in_both_looks,
    on_a_phone,
    open_signing,
    sign_by_two,
)
from tests.reports.documents import in_one, tagged

# What a lender must find in it, in the order in which it stands.
SAID = [
    "Loan check: condition report",
    "SM.1, arrival check",
    "Of 2 points known before: 1 same, 1 changed.",
    "Time in the closed crate: 20 h, 4 h less than agreed.",
    "90 × 120 mm (height × width), ± 1 mm",
    "Gallery of the Salt Quay",
    "Normal light, recto.",
    "Raking light, recto, 15°.",
    "Tear: changed",
    "What changed: Longer by about 6 mm.",
    "Damage; moderate; one place; recto. Shown by normal light.",
    "Reaches the plate mark.",
    "Foxing: same",
    "Handling crease",
    "Damage; slight; along an edge; recto. Shown by raking light.",
    "38.5 mm",
    "40117 and 40118",
    "No. 7, 47 to 52 % on the way",
    "Opened in the crate room.",
]
LOADED = "() => Promise.all([...document.images].map((image) => image.decode())).then(() => true)"

CAN_SHARE = """
() => {
  navigator.canShare = () => true;
  navigator.share = async ({ files: [file] }) => {
    window.passedOn = [file.name, file.type, file.size];
  };
}
"""
COLOURS = """
() => [".report", "body"].map((one) => getComputedStyle(document.querySelector(one)))
  .map((style, at) => (at ? style.backgroundColor : style.color))
"""


def open_report(page: Page, check: str) -> None:
    page.evaluate("(check) => { location.hash = `#/check-report/${check}`; }", check)
    page.get_by_role("button", name="Save the report").wait_for()
    expect(page.get_by_role("button", name="Save the report")).to_be_enabled(timeout=60_000)


def printed(page: Page, path: Path) -> PdfReader:
    page.evaluate(LOADED)
    page.pdf(path=path, prefer_css_page_size=True, print_background=True, tagged=True)
    return PdfReader(path)


def words_of(document: PdfReader) -> str:
    return in_one(" ".join(one.extract_text() for one in document.pages))


def holds_in_order(text: str, wanted: list[str]) -> list[str]:
    """Those that do not come after the one before."""
    missing, place = [], 0
    for words in wanted:
        found = text.find(words, place)
        if found < 0:
            missing.append(words)
        else:
            place = found
    return missing


def test_a_signed_report_is_saved_offline_and_opens_from_the_disk(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    page.context.set_offline(True)
    open_signing(page, made["check"])
    sign_by_two(page)
    kept = page.evaluate(KEPT, made["check"])
    open_report(page, made["check"])
    assert faults_in_both_looks(page) == []
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save the report").click()
    checked = local_day(kept["examination"]["started_at"])
    assert coming.value.suggested_filename == f"SM.1 arrival check {checked}.html"
    saved = tmp_path / coming.value.suggested_filename
    coming.value.save_as(saved)

    opened = page.context.new_page()
    asked: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.goto(saved.as_uri())
    assert opened.evaluate(LOADED)
    assert {url.partition(":")[0] for url in asked} <= {"file", "data"}
    # Three of the check, two of the state before, and the tear then and now.
    assert opened.locator("img").count() == 7
    text = in_one(opened.locator("body").inner_text())
    assert holds_in_order(text, SAID) == []
    assert reading.faults(opened) == []
    for hand in (checked_sheet.COURIER, checked_sheet.RECEIVER):
        assert hand in text
    signed = json.loads(opened.locator("#signed").text_content() or "")
    assert signed["statement"] == kept["statement"]
    sha256 = hashlib.sha256(signed["statement"].encode()).hexdigest()
    assert [one["sha256"] for one in signed["signatures"]] == [sha256, sha256]
    assert sha256 in text.replace(" ", "")

    expect(opened.locator(".lead")).to_contain_text(f"arrival check, {in_words(checked)}")
    document = printed(opened, tmp_path / "saved.pdf")
    # It may have been signed after midnight.
    signed_on = local_day(kept["signatures"][0]["signed_at"])
    assert_reads_as_a_document(document, f"Signed {in_words(signed_on)}")

    page.context.set_offline(False)
    small_tablet.wait_until_nothing_waits(page)
    verified = subprocess.run(
        [sys.executable, "manage.py", "verify-signature", str(saved)],
        cwd=ROOT,
        env=small_server.environment,
        capture_output=True,
        text=True,
    )
    assert verified.returncode == 0, verified.stdout + verified.stderr
    assert checked_sheet.RECEIVER in verified.stdout


def test_a_report_is_printed_from_the_app_with_numbered_pages_and_tags(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    page.context.set_offline(True)
    open_report(page, made["check"])
    page.evaluate("document.documentElement.dataset.look = 'dim'")
    document = printed(page, tmp_path / "draft.pdf")
    assert_reads_as_a_document(document, "DRAFT, not signed")
    assert "What was signed" not in words_of(document)
    assert "Save the report" not in words_of(document)
    # Black on white, though the screen is dim.
    page.emulate_media(media="print")
    ink, paper = page.evaluate(COLOURS)
    assert (ink, paper) == ("rgb(22, 22, 22)", "rgb(255, 255, 255)")


def test_a_file_is_passed_on_where_the_device_can(
    small_server: Server, open_browser: Opener
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    page.evaluate(CAN_SHARE)
    open_report(page, made["check"])
    page.get_by_role("button", name="Save the report").click()
    page.get_by_role("button", name="Pass the file on").click()
    [name, kind, size] = page.evaluate("window.passedOn")
    assert name.startswith("SM.1 arrival check ") and name.endswith(" draft.html")
    assert kind == "text/html" and size > 10_000


def test_parts_are_numbered_where_the_browser_cannot_number_pages(
    small_server: Server, open_browser: Opener, tmp_path: Path
) -> None:
    page = on_a_phone(small_server, open_browser)
    made = checked_sheet.check(page)
    open_report(page, made["check"])
    page.evaluate("document.documentElement.classList.add('unnumbered')")
    document = printed(page, tmp_path / "parts.pdf")
    text = words_of(document)
    assert (
        holds_in_order(text, ["Part 1: Result", "Part 2: The object", "Part 6: Photographs"]) == []
    )
    # Beside what stands in the margins, in this browser.
    assert all(one.extract_text().count("DRAFT, not signed") >= 2 for one in document.pages)


def assert_reads_as_a_document(document: PdfReader, state: str) -> None:
    text = words_of(document)
    assert holds_in_order(text, SAID) == []
    pages = len(document.pages)
    assert pages > 1
    for number, one in enumerate(document.pages, start=1):
        words = in_one(one.extract_text())
        assert f"Page {number} of {pages}" in words
        assert state in words
    tags = tagged(document)
    kinds = [kind for kind, _ in tags]
    assert kinds.count("/H1") == 1 and kinds.count("/H2") > 8
    assert {"/Table", "/TH", "/L", "/LI", "/Figure"} <= set(kinds)
    pictures = [alt for kind, alt in tags if kind == "/Figure"]
    assert any(re.search(r"Normal light, recto.*Marked on it: 1 Tear", alt) for alt in pictures)
    assert any("Marked on it: 3 Handling crease" in alt for alt in pictures)
    root: Any = document.trailer["/Root"]
    assert str(root["/Lang"]).startswith("en")
    assert root["/MarkInfo"]["/Marked"]


def local_day(moment: str) -> date:
    """The day of a moment where the browser is."""
    return datetime.fromisoformat(moment).astimezone().date()


def in_words(day: date) -> str:
    return f"{day.day} {day:%B} {day.year}"
