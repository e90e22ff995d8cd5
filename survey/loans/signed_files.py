"""What was signed, as a file that anybody may keep, and that is held against the record later.

JSON: ``{"statement": "…", "signatures": [{"role", "name", "of", "strokes", "signed_at",
"sha256"}, …]}``. A report carries the same with it: as HTML in
``<script type="application/json" id="signed">``, as PDF in an attached file ``signed.json``; the
report of a whole stage of a loan in one for each check, ``signed-1.json`` and so on.
"""

import json
import logging
import re
from codecs import BOM_UTF8
from dataclasses import dataclass
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import Any

from django.utils.dateparse import parse_datetime

from survey.loans.models import LoanCheck, Signature
from survey.loans.serializers import SignatureSerializer
from survey.loans.stated import moment
from survey.loans.statements import CannotRead

ATTACHED = "signed.json"
# Of the report of a whole stage of a loan: the attached file of one check.
NUMBERED = re.compile(r"signed-([1-9]\d*)\.json")
ELEMENT = "signed"
# A report holds all its pictures; none is larger.
MOST_BYTES = 512 * 1024**2
FIELDS = ("role", "name", "of", "strokes", "signed_at", "sha256")
NOTHING_SIGNED = "Nothing that was signed is in this file"
DAMAGED = (
    "This PDF is damaged or not whole, so nothing in it can be held to what was signed: take "
    "another copy of the report."
)
SEVERAL = "This file carries several signed statements, so it was tampered with."


@dataclass(frozen=True)
class Signed:
    """The words that were signed, and who signed them: each a dictionary of FIELDS."""

    statement: str
    signatures: list[dict[str, Any]]


def signed_of(check: LoanCheck) -> Signed:
    """What this server holds of a signed check."""
    rows = Signature.objects.filter(loan_check=check, deleted_at=None).order_by("signed_at", "id")
    written = [dict(SignatureSerializer(row).data) for row in rows]
    return Signed(
        check.statement,
        [
            {name: one[name] for name in FIELDS} | {"signed_at": moment(row.signed_at)}
            for one, row in zip(written, rows, strict=True)
        ],
    )


def as_json(signed: Signed) -> str:
    """ASCII only, so that it reads the same whatever a program takes its encoding for."""
    content = {"statement": signed.statement, "signatures": signed.signatures}
    return json.dumps(content, indent=1)


def read_file(path: Path) -> bytes:
    """The bytes of a file that may hold what was signed. Raises CannotRead with a sentence."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise CannotRead(f"{path.name} is larger than any report: choose another file.")
        return path.read_bytes()
    except OSError as error:
        raise CannotRead(f"{path} cannot be opened: {error.strerror}.") from error


def read_content(content: bytes) -> list[Signed]:
    """What was signed, from the bytes of a file of any of the three kinds; several only from the
    report of a whole stage of a loan. Raises CannotRead with a sentence."""
    if is_pdf(content):
        return [_read_json(text) for text in _attached(content)]
    text = _decoded(content)
    return [_read_json(_embedded(text) if is_page(content) else text)]


def is_pdf(content: bytes) -> bool:
    return content.lstrip().startswith(b"%PDF-")


def is_page(content: bytes) -> bool:
    """Whether it is HTML; a mark at its head may say that it is UTF-8."""
    return content.removeprefix(BOM_UTF8).lstrip().startswith(b"<")


def _attached(content: bytes) -> list[str]:
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    # What the library says of a broken file on its own is for programmers.
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    try:
        attachments = dict(PdfReader(BytesIO(content)).attachments)
    # A broken file makes the library fail in ways of its own, too.
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise CannotRead(DAMAGED) from error
    numbered = sorted(filter(NUMBERED.fullmatch, attachments), key=_number)
    names = numbered if ATTACHED not in attachments else [ATTACHED, *numbered]
    if not names:
        raise CannotRead(f"{NOTHING_SIGNED}: no {ATTACHED} is attached to the PDF.")
    if len(names) > 1 and ATTACHED in names:
        raise CannotRead(SEVERAL)
    return [_decoded(_only(attachments[name], NOTHING_SIGNED)) for name in names]


def _number(name: str) -> int:
    return int(name.removeprefix("signed-").removesuffix(".json"))


def _embedded(text: str) -> str:
    page = _Page()
    page.feed(text)
    page.close()
    return _only(page.found, f"{NOTHING_SIGNED}: the page has no part called “{ELEMENT}”.")


def _only(found: list[Any], none: str) -> Any:
    if not found:
        raise CannotRead(none)
    if len(found) > 1:
        raise CannotRead(SEVERAL)
    return found[0]


def _decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CannotRead(f"{NOTHING_SIGNED}: it is neither JSON, nor HTML, nor PDF.") from None


def _read_json(text: str) -> Signed:
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        raise CannotRead(f"{NOTHING_SIGNED}: its JSON cannot be read.") from None
    signatures = said.get("signatures") if isinstance(said, dict) else None
    if not isinstance(signatures, list) or not isinstance(said.get("statement"), str):
        raise CannotRead(f"{NOTHING_SIGNED}: a statement and its signatures are missing.")
    return Signed(said["statement"], [_signature(one) for one in signatures])


def _signature(one: Any) -> dict[str, Any]:
    known = one if isinstance(one, dict) else {}
    texts = ("role", "name", "signed_at", "sha256")
    signed_at = known.get("signed_at")
    if (
        not all(isinstance(known.get(name), str) for name in texts)
        or not isinstance(known.get("strokes"), list)
        or _moment(signed_at) is None
    ):
        raise CannotRead("A signature in this file is not whole: it lacks a name, role or time.")
    return {name: known.get(name, "") for name in FIELDS} | {"signed_at": _moment(signed_at)}


def _moment(text: Any) -> str | None:
    """In the one spelling that is compared; None when it is no time."""
    try:
        parsed = parse_datetime(text)
    except (TypeError, ValueError):
        return None
    return moment(parsed) if parsed is not None and parsed.tzinfo is not None else None


class _Page(HTMLParser):
    """Finds the JSON in a report."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._is_within = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "script" and given.get("id") == ELEMENT:
            self._is_within = True
            self.found.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag == "script":
            self._is_within = False

    def handle_data(self, data: str) -> None:
        if self._is_within:
            self.found[-1] += data
