"""``manage.py verify``: look whether all is as it was when it came, and say what is not."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from survey.sync.care import contents, records
from survey.sync.care.progress import Progress, count, in_units
from survey.sync.care.snapshot import reading
from survey.sync.models import Change


class Command(BaseCommand):
    help = (
        "Hash every photograph again, play the change log again against the records, and say "
        "each fault in a sentence. Only reads; tablets may go on sending meanwhile."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        faults = 0
        with reading():
            known = contents.sizes()
            changes = Change.objects.exclude(number=None).count()
            self.stdout.write(f"Playing {count(changes, 'change')} again …")
            played = Progress(self.stdout, changes, "changes")
            for fault in records.faults(played.add):
                self.stderr.write(fault)
                faults += 1
        total = sum(known.values())
        self.stdout.write(f"Reading {count(len(known), 'photograph')}, {in_units(total)} …")
        read = Progress(self.stdout, total)
        for fault in contents.faults(known, read.add):
            self.stderr.write(fault)
            faults += 1
        if faults:
            raise CommandError(f"Found {count(faults, 'fault')}, told above. Nothing was altered.")
        self.stdout.write(
            "Not looked for: previews, and pictures of readings that are no longer here. They can "
            "be made again."
        )
        self.stdout.write(
            f"All is as it was: {count(changes, 'change')} and "
            f"{count(len(known), 'photograph')} agree."
        )
