"""``manage.py verify-signature``: say whether a file holds what was signed, as it was signed."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from survey.loans.signed_files import read_file
from survey.loans.statements import CannotRead
from survey.loans.verifying import verify


class Command(BaseCommand):
    help = (
        "Hold a signed statement against its hashes and against the record: a file that was saved "
        "at the desk, or a report of a check as HTML or PDF. Only reads; ends with status 0 only "
        "when all holds."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="JSON, HTML or PDF")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            signed = read_file(options["file"])
        except CannotRead as error:
            raise CommandError(str(error)) from error
        verdict = verify(signed)
        if verdict.about:
            self.stdout.write(verdict.about)
        for sentence in verdict.holds:
            self.stdout.write(f"Holds: {sentence}")
        for sentence in verdict.later:
            self.stdout.write(f"Later: {sentence}")
        for sentence in verdict.faults:
            self.stderr.write(f"Does not hold: {sentence}")
        if not verdict.is_verified:
            raise CommandError("Not verified.")
        self.stdout.write("Verified: these words were signed, and all of it holds.")
