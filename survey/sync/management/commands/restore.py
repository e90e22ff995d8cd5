"""``manage.py restore COPY``: put back what ``manage.py backup`` made."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from survey.sync.care.restore import checked, is_empty, restore
from survey.sync.care.trouble import Trouble
from survey.sync.full_disk import is_full_disk


class Command(BaseCommand):
    help = (
        "Read a copy from end to end, then put it back. Stop the server first. What is there "
        "already is only replaced with --replace, and then set aside, never deleted."
    )
    # The database may be missing or broken: that is what a copy is put back for.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("copy", type=Path, help="one of the folders that backup made")
        parser.add_argument(
            "--replace", action="store_true", help="set aside what is there, and put the copy back"
        )
        parser.add_argument(
            "--check", action="store_true", help="read the copy from end to end; put nothing back"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            copy = checked(options["copy"], self.stdout)
            if options["check"]:
                self.stdout.write(f"The copy is whole. It was made at {copy.made_at:{MOMENT}}.")
                return
            if not options["replace"] and not is_empty():
                raise CommandError(
                    "This server has people or records already. Add --replace to set them aside "
                    "and put the copy back. Nothing was altered."
                )
            done = restore(copy, self.stdout)
        except Trouble as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            why = "The disk is full" if is_full_disk(error) else str(error)
            raise CommandError(f"{why}. Mend this, then run the command again.") from error
        self.stdout.write(
            f"All is as it was at {copy.made_at:{MOMENT}}. {done.photographs:,} photographs were "
            f"put back, and {done.kept:,} that came later were kept."
        )
        self.stdout.write(
            "Pictures that readings made are in no copy: where one is missing, ask for its reading "
            "again."
        )
        if done.aside:
            self.stdout.write(f"What was there before lies in {done.aside}")
        for sentence in done.altered:
            self.stderr.write(sentence)
        self.stdout.write(LATER)


MOMENT = "%-d %B %Y, %H:%M %Z"
LATER = """
What the server took in after that moment is not in this copy. Tablets begin anew by themselves:
they take over what the server now has, and send what still waits on them. But what a tablet had
sent already in that time, and the server had confirmed, it does not send again. Records begun in
that time are still to be seen on the tablet that made them, and on no other: compare before
anybody clears that app, and enter them again. Later changes to records that the copy has are
undone on the tablets too, as soon as they are in range. People who first signed in on a tablet
in that time sign in again."""
