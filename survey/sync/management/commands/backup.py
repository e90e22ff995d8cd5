"""``manage.py backup FOLDER``: a whole copy of records and photographs, read back and hashed."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from survey.sync.care.backup import back_up, is_on_the_same_disk
from survey.sync.care.progress import count, in_units
from survey.sync.care.trouble import Trouble
from survey.sync.full_disk import is_full_disk


class Command(BaseCommand):
    help = (
        "Copy the database and every photograph into a new folder within FOLDER, while the "
        "server runs. Photographs that an earlier copy there has are not written again."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="where copies are kept, on another disk")

    def handle(self, *args: Any, **options: Any) -> None:
        place: Path = options["folder"]
        try:
            made = back_up(place, self.stdout)
        except Trouble as error:
            raise CommandError(f"{error} No copy was made; earlier ones are untouched.") from error
        except OSError as error:
            why = f"The disk of {place} is full" if is_full_disk(error) else f"{error}"
            raise CommandError(
                f"{why}. No copy was made; earlier ones are untouched. Make room, or mend what "
                "is said, then run the command again: it goes on where it stopped."
            ) from error
        self.stdout.write(
            f"The copy is {made.folder}: the database and "
            f"{count(made.photographs, 'photograph')}, all read back. New at this place: "
            f"{count(made.new, 'photograph')}, {in_units(made.new_bytes)}."
        )
        self.stdout.write(
            "Left out, for they can be made again: previews, and pictures that readings made."
        )
        if is_on_the_same_disk(place, Path(settings.DATA_DIR)):
            self.stdout.write(
                "It lies on the same disk as the server’s data: carry it to another one."
            )
        if made.faults:
            for fault in made.faults:
                self.stderr.write(fault)
            raise CommandError(
                "The copy was made, but not whole on the server: "
                f"{count(len(made.faults), 'photograph')}, told above. Look for them in earlier "
                "copies."
            )
