"""``manage.py ingest FILE``: take in by hand the unsent work that a tablet saved to a file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError

from survey.sync.care.ingest import NotTaken, ingest
from survey.sync.care.progress import count
from survey.sync.full_disk import is_full_disk

AGAIN = (
    "What was taken in until then stays; mend this, then run the command again: nothing is "
    "taken in twice."
)


class Command(BaseCommand):
    help = (
        "Take in the unsent work that a tablet saved to a file. Doing it twice does nothing the "
        "second time, nor does the tablet when it sends the same work later."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the ZIP file that the tablet saved")

    def handle(self, *args: Any, **options: Any) -> None:
        source: Path = options["file"]
        try:
            report = ingest(source, self.stdout)
        except NotTaken as error:
            raise CommandError(f"Nothing was taken in. {error}") from error
        except OSError as error:
            if error.filename and Path(error.filename) == source:
                raise CommandError(f"{source} cannot be read: {error.strerror}.") from error
            why = "The disk is full" if is_full_disk(error) else f"The disk failed: {error}"
            raise CommandError(f"{why}. {AGAIN}") from error
        except OperationalError as error:
            raise CommandError(f"The database did not answer: {error}. {AGAIN}") from error
        for sentence in (*report.refused, *report.faults):
            self.stderr.write(sentence)
        self.stdout.write(
            f"Photographs: {report.photographs_taken:,} taken in, "
            f"{report.photographs_known:,} were here already."
        )
        self.stdout.write(
            f"Changes: {report.changes_taken:,} taken in, {report.changes_known:,} were here "
            f"already. {report.questions:,} left a question open."
        )
        if not report.is_complete:
            raise CommandError(
                f"Refused: {count(len(report.refused), 'change')}. Not taken in: "
                f"{count(len(report.faults), 'part')} of the file. Each is told above, and all "
                "else is in. Keep the file and the tablet as they are until these are seen to."
            )
