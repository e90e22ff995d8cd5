"""``manage.py verify-signature``: say whether a file holds what was signed, as it was signed."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from survey.loans.signed_files import Signed, read_file
from survey.loans.statements import CannotRead
from survey.loans.verifying import verify


class Command(BaseCommand):
    help = (
        "Hold a signed statement against its hashes and against the record: a file that was saved "
        "at the desk, or a report of a check, or of a stage of a loan, as HTML or PDF. Only reads; "
        "ends with status 0 only when all holds."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="JSON, HTML or PDF")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found = read_file(options["file"])
        except CannotRead as error:
            raise CommandError(str(error)) from error
        verified = [self.tell(signed) for signed in found]
        if not all(verified):
            raise CommandError("Not verified.")
        if len(found) > 1:
            self.stdout.write(f"Verified: all {len(found)} checks.")

    def tell(self, signed: Signed) -> bool:
        """Says what holds and what does not; whether all of it holds."""
        verdict = verify(signed)
        if verdict.about:
            self.stdout.write(verdict.about)
        for sentence in verdict.holds:
            self.stdout.write(f"Holds: {sentence}")
        for sentence in verdict.later:
            self.stdout.write(f"Later: {sentence}")
        for sentence in verdict.faults:
            self.stderr.write(f"Does not hold: {sentence}")
        if verdict.is_verified:
            self.stdout.write("Verified: these words were signed, and all of it holds.")
        return verdict.is_verified
