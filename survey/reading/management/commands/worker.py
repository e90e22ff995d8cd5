"""``manage.py worker``: makes the readings and reports that were asked for, one after the other.

One process on a server, beside the web server and with less say over the processor. Told to end
(SIGTERM, Ctrl-C) it stops at the next step of what it is at, which then waits for the next
worker. One that was killed leaves nothing undone: the next takes its work up.
"""

import fcntl
import os
import signal
import sys
import threading
from argparse import ArgumentParser
from contextlib import suppress
from pathlib import Path
from types import FrameType
from typing import IO, Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker

from survey.reading import stopping, waiting

LEAST_SAY = 15
# Rows of tasks that ended are kept for looking into faults.
KEPT_DAYS = 14


class ReadingWorker(Worker):
    """The worker of django-tasks-db, which here also stops in the middle of its work."""

    def shutdown(self, signum: int, frame: FrameType | None) -> None:
        if not self.running:
            super().shutdown(signum, frame)  # Told twice: at once.
        self.running = False
        stopping.ask()
        if not self.running_task:
            sys.exit(0)


class Command(BaseCommand):
    help = "Make the readings and reports that wait: one process, beside the web server."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--once", action="store_true", help="make what waits now, then end by itself"
        )
        parser.add_argument(
            "--while-open",
            action="store_true",
            help="end when the standard input is closed, with whoever started this",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        with _alone():
            with suppress(OSError):
                os.nice(LEAST_SAY)
            call_command("prune_db_task_results", min_age_days=KEPT_DAYS, verbosity=0)
            self.stdout.write(f"{waiting.take_up()} Stop with Ctrl-C; nothing is lost.")
            self.stdout.flush()
            worker = ReadingWorker(
                queue_names=["default"],
                interval=1,
                batch=options["once"],
                backend_name="default",
                startup_delay=False,
                max_tasks=None,
                worker_id=get_random_string(32),
                excluded_queue_names=[],
            )
            worker.configure_signals()
            if options["while_open"]:
                threading.Thread(target=_end_with, args=(sys.stdin,), daemon=True).start()
            worker.run()


class _alone:
    """Holds the one place of a worker on this server. Raises CommandError when it is taken."""

    def __enter__(self) -> None:
        self.file = (Path(settings.DATA_DIR) / "worker.lock").open("w")
        try:
            fcntl.flock(self.file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            self.file.close()
            raise CommandError("A worker runs already. One is enough.") from None

    def __exit__(self, *_: object) -> None:
        self.file.close()


def _end_with(stream: IO[str]) -> None:
    while stream.read(4096):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
