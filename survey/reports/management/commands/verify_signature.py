"""``manage.py verify-signature``: say whether a file holds what was signed, as it was signed."""

import hashlib
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from survey.loans.signed_files import Signed, is_page, is_pdf, read_content, read_file
from survey.loans.statements import CannotRead
from survey.loans.verifying import verify
from survey.reports.queries import uses_of
from survey.reports.said import said_of

NO_RECORD = (
    "The record could not be read ({why}), so nothing was held against it. Run this where the "
    "server runs, with its settings; FIELDLEAF_DATA names its folder."
)
NOT_COMPARED = (
    "The words above are what is signed. What the pages of this file show was not compared: read "
    "them against these words."
)
OWN = (
    "This file is, byte for byte, one that this server made, so its pages are as they were made: "
    "{report}."
)
NOT_OWN = (
    "This file is not one that this server keeps: its pages may have been changed, or taken out. "
    "The words above are what is signed: read the pages against them."
)


class Command(BaseCommand):
    help = (
        "Hold a signed statement against its hashes and against the record, and say what was "
        "signed: of a file that was saved at the desk, or a report of a check, or of a stage of a "
        "loan, as HTML or PDF. What the pages of a report show is not compared, so read them "
        "against what this says. Only reads; ends with status 0 when all signatures hold."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="JSON, HTML or PDF")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            content = read_file(options["file"])
            found = read_content(content)
        except CannotRead as error:
            raise CommandError(_printable(str(error))) from error
        try:
            verified = [self.tell(signed) for signed in found]
        except DatabaseError as error:
            raise CommandError(NO_RECORD.format(why=error)) from error
        if not all(verified):
            raise CommandError("Not verified.")
        if len(found) > 1:
            self.say(f"The signatures of all {len(found)} checks hold.")
        if is_pdf(content) or is_page(content):
            self.say(_of_pages(content))

    def tell(self, signed: Signed) -> bool:
        """Says what was signed, what holds and what does not; whether all signatures hold."""
        verdict = verify(signed)
        if verdict.about:
            self.say(verdict.about)
        if verdict.kept is not None:
            self.say("What was signed:")
            for name, words in said_of(verdict.kept):
                self.say(f"  {name}: {words}")
        for sentence in verdict.holds:
            self.say(f"Holds: {sentence}")
        for sentence in verdict.later:
            self.say(f"Later: {sentence}")
        for sentence in verdict.faults:
            self.stderr.write(f"Does not hold: {_printable(sentence)}")
        if verdict.is_verified:
            self.say(
                "Verified: the words above were signed, each signature belongs to them, and the "
                "record still says them."
            )
        return verdict.is_verified

    def say(self, sentence: str) -> None:
        self.stdout.write(_printable(sentence))


def _of_pages(content: bytes) -> str:
    """What is known of what a report shows."""
    made = uses_of(hashlib.sha256(content).hexdigest())
    if made:
        return OWN.format(report=made[0])
    return NOT_OWN if is_pdf(content) else NOT_COMPARED


def _printable(words: str) -> str:
    """In one line, its indent kept, without what would steer a terminal: the words are others'."""
    indent = words[: len(words) - len(words.lstrip(" "))]
    plain = "".join(one if one.isprintable() else " " for one in words)
    return indent + " ".join(plain.split())
