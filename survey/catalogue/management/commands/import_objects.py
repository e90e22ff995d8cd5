"""``manage.py import_objects FILE``: check a CSV file of objects, then bring it in."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from survey.access.models import Person
from survey.catalogue.importing import COLUMNS, import_objects


class Command(BaseCommand):
    help = (
        "Check a CSV file of objects and say what is wrong, by line and column. "
        f"Headings: {', '.join(COLUMNS)}."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--commit", action="store_true", help="import; without it nothing is written"
        )
        parser.add_argument(
            "--take-good-rows", action="store_true", help="import the good rows and leave the bad"
        )
        parser.add_argument("--person", help="user name of whoever imports, for the record")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            content = options["file"].read_bytes()
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from error
        person = Person.objects.filter(username=options["person"]).first()
        if options["person"] and person is None:
            raise CommandError(f"Nobody has the user name “{options['person']}”.")
        report = import_objects(
            content, person, commit=options["commit"], take_good_rows=options["take_good_rows"]
        )
        for problem in report.problems:
            self.stderr.write(str(problem))
        self.stdout.write(f"{report.good_rows} good rows, {len(report.problems)} problems.")
        if report.imported:
            self.stdout.write(f"Imported {report.imported} objects.")
        elif options["commit"]:
            raise CommandError(
                "Nothing was imported. Mend the file, or add --take-good-rows to leave out "
                "the bad rows."
            )
        else:
            self.stdout.write("Nothing was written: add --commit to import.")
