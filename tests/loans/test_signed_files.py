"""Files of what was signed: the good ones are verified, and whatever was tampered with is told."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfWriter

from survey import bootstrap
from survey.examination.models import Examination
from survey.loans.models import LoanCheck, Signature
from survey.loans.signed_files import as_json, read_content, read_file, signed_of
from survey.loans.statements import CannotRead, sha256_of
from survey.loans.verifying import verify, verify_check
from survey.sync.services import record_change
from tests.factories import AmendmentFactory
from tests.loans.museum import STROKES, check_of, lent, new_loan, signed

pytestmark = pytest.mark.django_db
Content = dict[str, Any]


@pytest.fixture
def check() -> LoanCheck:
    one = lent(new_loan(), observations=2)
    return signed(check_of(one, venue="Halle </script> d’Été"), "Ruth Pennarrow", "Tobias Fell")


def content_of(check: LoanCheck) -> Content:
    content: Content = json.loads(as_json(signed_of(check)))
    return content


def as_page(content: Content) -> str:
    """A report, as a tablet saves it."""
    written = json.dumps(content).replace("<", "\\u003c")
    return (
        "<!doctype html><html><body><h1>Report</h1><script>var a = 1;</script>"
        f'<script type="application/json" id="signed">{written}</script></body></html>'
    )


def as_pdf(content: Content | None, name: str = "signed.json", times: int = 1) -> bytes:
    return with_attached([] if content is None else [(name, content)] * times)


def with_attached(files: list[tuple[str, Content]]) -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(200, 200)
    for name, content in files:
        writer.add_attachment(name, json.dumps(content).encode())
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def said(path: Path) -> str:
    """What the command says of a file that it verifies."""
    written = io.StringIO()
    call_command("verify_signature", str(path), stdout=written, stderr=written)
    return written.getvalue()


def told(path: Path) -> str:
    """What it says of one that it does not."""
    written = io.StringIO()
    with pytest.raises(CommandError) as error:
        call_command("verify_signature", str(path), stdout=written, stderr=written)
    assert "Verified" not in written.getvalue()
    return f"{written.getvalue()}{error.value}"


@pytest.mark.parametrize("kind", ["JSON", "JSON with a mark at its head", "HTML", "PDF"])
def test_what_was_signed_is_verified_from_each_kind_of_file(
    check: LoanCheck, tmp_path: Path, kind: str
) -> None:
    content = content_of(check)
    path = tmp_path / "signed"
    path.write_bytes(
        {
            "JSON": lambda: as_json(signed_of(check)).encode(),
            "JSON with a mark at its head": lambda: json.dumps(content).encode("utf-8-sig"),
            "HTML": lambda: as_page(content).encode(),
            "PDF": lambda: as_pdf(content),
        }[kind]()
    )
    words = said(path)
    assert f"Arrival check of {check.examination.object.accession_number}" in words
    assert words.count(sha256_of(check.statement)) == 2
    assert "Ruth Pennarrow signed as courier, for Gallery of the Salt Quay, " in words
    assert "Tobias Fell signed as receiver" in words
    assert "This server keeps the same words, letter by letter." in words
    assert "The record says what was signed." in words
    assert "Verified: the words above were signed, each signature belongs to them" in words
    assert "all of it holds" not in words
    last = words.rstrip().rpartition("\n")[2]
    assert last.startswith(
        {"HTML": "The words above are what is signed. What the pages of this file show was not",
         "PDF": "This file is not one that this server keeps"}.get(kind, "Verified: ")
    )  # fmt: skip


def test_a_moment_spelt_otherwise_is_the_same_moment(check: LoanCheck, tmp_path: Path) -> None:
    content = content_of(check)
    for one in content["signatures"]:
        one["signed_at"] = one["signed_at"].replace("Z", "+00:00")
    (tmp_path / "signed").write_text(json.dumps(content))
    assert "Verified" in said(tmp_path / "signed")


def test_a_name_without_a_drawing_says_so(check: LoanCheck) -> None:
    record_change(
        "signature",
        None,
        {
            "loan_check": check,
            "role": "registrar",
            "name": "Ro Fell",
            "strokes": [],
            "sha256": sha256_of(check.statement),
        },
        None,
    )
    verdict = verify_check(check)
    assert verdict.is_verified
    assert any("Ro Fell signed as registrar, by name alone" in one for one in verdict.holds)


def test_amendments_are_told_and_alter_nothing(check: LoanCheck, tmp_path: Path) -> None:
    AmendmentFactory(
        examination=check.examination, field="notes", reason="Seen again.", signed_name="Wren Vale"
    )
    path = tmp_path / "signed"
    path.write_text(as_json(signed_of(check)))
    words = said(path)
    assert "Later: Amended (notes) by Wren Vale" in words and "Seen again." in words
    assert "What was signed stays as it was." in words


def test_a_signature_that_came_after_the_file_is_told(check: LoanCheck, tmp_path: Path) -> None:
    content = content_of(check)
    content["signatures"].pop()
    (tmp_path / "signed").write_text(json.dumps(content))
    words = said(tmp_path / "signed")
    assert "Later: This server keeps a signature besides: Tobias Fell signed as receiver" in words


def reword(content: Content) -> None:
    content["statement"] = content["statement"].replace('"answer":"same"', '"answer":"changed"', 1)


def reword_and_hash(content: Content) -> None:
    reword(content)
    for one in content["signatures"]:
        one["sha256"] = sha256_of(content["statement"])


def in_first(name: str, value: Any) -> Callable[[Content], None]:
    def alter(content: Content) -> None:
        content["signatures"][0][name] = value

    return alter


def sign_besides(content: Content) -> None:
    content["signatures"].append(
        content["signatures"][0] | {"name": "Nobody", "role": "registrar", "strokes": [[[1, 1]]]}
    )


TAMPERED: dict[str, tuple[Callable[[Content], None], tuple[str, ...]]] = {
    "a word": (reword, ("but other words", "these words give", "keeps other words")),
    "a word, and every hash to match": (
        reword_and_hash,
        ("This server keeps other words for this check", "The record says what was signed"),
    ),
    "a hash": (
        in_first("sha256", "0" * 64),
        ("but other words: this signature bears the SHA-256",),
    ),
    "a name": (
        in_first("name", "Someone Else"),
        ("Someone Else signed as courier", "keeps it otherwise: Ruth Pennarrow", "(name)"),
    ),
    "a role": (in_first("role", "registrar"), ("keeps it otherwise", "(role)")),
    "a museum": (in_first("of", "Northmere Hall"), ("keeps it otherwise", "(museum)")),
    "a time": (
        in_first("signed_at", "2020-01-01T10:00:00.000Z"),
        ("(signed at)", "1 January 2020"),
    ),
    "a stroke": (
        in_first("strokes", [[[1, 2], [3, 4]]]),
        ("it was drawn otherwise than this server keeps it",),
    ),
    "a drawing away": (in_first("strokes", []), ("by name alone", "drawn otherwise")),
    "a signature more": (sign_besides, ("keeps no such signature below this check",)),
    "no signature": (lambda content: content["signatures"].clear(), ("Nobody’s signature",)),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_a_file_that_was_tampered_with_is_not_verified(
    check: LoanCheck, tmp_path: Path, what: str
) -> None:
    alter, sentences = TAMPERED[what]
    content = content_of(check)
    before = json.dumps(content)
    alter(content)
    assert json.dumps(content) != before
    (tmp_path / "signed").write_text(json.dumps(content))
    words = told(tmp_path / "signed")
    assert words.endswith("Not verified.")
    for sentence in sentences:
        assert sentence in words


def test_a_record_that_was_altered_since_is_told(check: LoanCheck, tmp_path: Path) -> None:
    (tmp_path / "signed").write_text(as_json(signed_of(check)))
    Examination.objects.filter(pk=check.examination_id).update(notes="All was well.")
    words = told(tmp_path / "signed")
    assert "The record says otherwise since." in words and "All was well." in words
    assert "This server keeps the same words" in words


def test_a_server_that_knows_nothing_of_it_says_so(check: LoanCheck, tmp_path: Path) -> None:
    (tmp_path / "signed").write_text(as_json(signed_of(check)))
    Signature.objects.all().delete()
    assert "no such signature" in told(tmp_path / "signed")
    LoanCheck.objects.update(statement="")
    assert "has the check, but not that it was signed" in told(tmp_path / "signed")
    check.points.all().delete()
    LoanCheck.objects.all().delete()
    assert "This server has no such check" in told(tmp_path / "signed")


def test_a_key_that_is_none_is_no_key_of_a_check(check: LoanCheck) -> None:
    content = content_of(check)
    for key in ("", None, 7, "not a key"):
        said = json.loads(content["statement"])
        said["check"]["id"] = key
        [held] = read_content(json.dumps(content | {"statement": json.dumps(said)}).encode())
        verdict = verify(held)
        assert any("no such check" in one for one in verdict.faults)


def test_what_two_checks_signed_is_not_mixed_up(check: LoanCheck, tmp_path: Path) -> None:
    """The signatures of one check below the words of another."""
    other = signed(check_of(lent(new_loan())), "Ruth Pennarrow")
    mixed = content_of(check) | {"signatures": content_of(other)["signatures"]}
    (tmp_path / "signed").write_text(json.dumps(mixed))
    assert "but other words" in told(tmp_path / "signed")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "its JSON cannot be read"),
        (b"{", "its JSON cannot be read"),
        (b"[" * 100_000, "its JSON cannot be read"),
        (b"{}", "a statement and its signatures are missing"),
        (b'{"statement": "x"}', "a statement and its signatures are missing"),
        (b'{"statement": "x", "signatures": [{"name": "Ro"}]}', "is not whole"),
        (b'{"statement": "x", "signatures": ["Ro"]}', "is not whole"),
        (b"\xff\xfe\x00\x01", "neither JSON, nor HTML, nor PDF"),
        (b"<html><body>Nothing</body></html>", "no part called"),
        (b'<script id="signed">{', "its JSON cannot be read"),
        (b"%PDF-1.7 and then nothing", "damaged"),
    ],
)
def test_a_file_that_holds_nothing_signed_gets_a_sentence(
    tmp_path: Path, content: bytes, sentence: str
) -> None:
    path = tmp_path / "file"
    path.write_bytes(content)
    assert sentence in told(path)


def test_each_check_of_a_stage_is_verified_and_one_that_does_not_hold_spoils_the_whole(
    check: LoanCheck, tmp_path: Path
) -> None:
    other = signed(check_of(lent(new_loan(), observations=1)), "Ruth Pennarrow")
    files = [("signed-10.json", content_of(other)), ("signed-2.json", content_of(check))]
    path = tmp_path / "stage.pdf"
    path.write_bytes(with_attached(files))
    words = said(path)
    numbers = [one.examination.object.accession_number for one in (check, other)]
    assert words.index(numbers[0]) < words.index(numbers[1])
    assert words.count("Verified: the words above were signed") == 2
    assert "The signatures of all 2 checks hold." in words

    in_first("name", "Somebody Else")(files[0][1])
    path.write_bytes(with_attached(files))
    written = io.StringIO()
    with pytest.raises(CommandError, match="Not verified"):
        call_command("verify_signature", str(path), stdout=written, stderr=written)
    assert written.getvalue().count("Verified: the words above were signed") == 1
    assert "Somebody Else" in written.getvalue() and "all 2" not in written.getvalue()


def test_pdfs_that_carry_nothing_or_too_much(check: LoanCheck) -> None:
    with pytest.raises(CannotRead, match=r"no signed\.json is attached"):
        read_content(as_pdf(None))
    with pytest.raises(CannotRead, match=r"no signed\.json is attached"):
        read_content(as_pdf(content_of(check), "other.json"))
    with pytest.raises(CannotRead, match="tampered with"):
        read_content(as_pdf(content_of(check), times=2))
    with pytest.raises(CannotRead, match="tampered with"):
        read_content(as_pdf(content_of(check), "signed-1.json", times=2))
    with pytest.raises(CannotRead, match="damaged or not whole"):
        read_content(as_pdf(content_of(check))[:-200])
    both = [("signed.json", content_of(check)), ("signed-1.json", content_of(check))]
    with pytest.raises(CannotRead, match="tampered with"):
        read_content(with_attached(both))
    with pytest.raises(CannotRead, match="tampered with"):
        read_content((as_page(content_of(check)) + as_page(content_of(check))).encode())


def test_a_file_that_is_not_there_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="cannot be opened"):
        read_file(tmp_path / "nowhere.json")
    with pytest.raises(CannotRead, match="cannot be opened"):
        read_file(tmp_path)


def test_nothing_is_written_by_looking(check: LoanCheck, tmp_path: Path) -> None:
    (tmp_path / "signed").write_text(as_json(signed_of(check)))
    before = list(LoanCheck.objects.values()), list(Signature.objects.values())
    said(tmp_path / "signed")
    assert before == (list(LoanCheck.objects.values()), list(Signature.objects.values()))
    assert signed_of(check).signatures[0]["strokes"] == STROKES


def test_the_manual_s_spelling_works_on_the_command_line(tmp_path: Path) -> None:
    for spelling in ("verify-signature", "verify_signature"):
        ran = subprocess.run(
            [sys.executable, str(bootstrap.ROOT / "manage.py"), spelling, "nowhere.json"],
            env={"PATH": os.environ["PATH"], "FIELDLEAF_DATA": str(tmp_path)},
            capture_output=True,
            text=True,
        )
        assert ran.returncode == 1
        assert "nowhere.json cannot be opened" in ran.stderr
