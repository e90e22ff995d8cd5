"""The whole of Fieldleaf on this machine, with the invented museum in it."""

import socket
import subprocess
import sys
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from gunicorn.app.base import BaseApplication

from survey.demo.services import Account, NotEmpty, ask_for_readings, seed

HOST = "127.0.0.1"
# How long the worker may take to put down what it is at.
WORKER_ENDS_S = 20


class Server(BaseApplication):
    """Gunicorn, started from here: no second file, nothing to configure."""

    def __init__(self, port: int, say_ready: Any, say_over: Any) -> None:
        self.port = port
        self.say_ready = say_ready
        self.say_over = say_over
        super().__init__()

    def load_config(self) -> None:
        self.cfg.set("bind", f"{HOST}:{self.port}")
        # Threads, so that a long photograph upload never holds up a record.
        self.cfg.set("worker_class", "gthread")
        self.cfg.set("threads", 8)
        self.cfg.set("timeout", 120)
        self.cfg.set("loglevel", "warning")
        self.cfg.set("when_ready", self.say_ready)
        self.cfg.set("on_exit", self.say_over)

    def load(self) -> Any:
        from survey.wsgi import application

        return application


class Command(BaseCommand):
    help = "Set up the invented Port Ellery museum and serve it on this machine only."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port to serve on (8000)")
        parser.add_argument(
            "--no-serve", action="store_true", help="set everything up, but do not serve"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        port = options["port"]
        if not options["no_serve"] and _is_taken(port):
            raise CommandError(
                f"Port {port} is in use, perhaps by a demo that still runs. Stop that one, or "
                f"choose another port: python3 manage.py demo --port {port + 1}"
            )
        self.stdout.write("Preparing the database …")
        call_command("migrate", verbosity=0)
        try:
            accounts = seed(self.stdout.write)
        except NotEmpty as error:
            raise CommandError(str(error)) from error
        if options["no_serve"]:
            return
        ask_for_readings()
        self.stdout.flush()
        worker = _worker()
        Server(
            port,
            lambda _server: self._say_ready(port, accounts),
            lambda _server: _end(worker),
        ).run()

    def _say_ready(self, port: int, accounts: list[Account]) -> None:
        self.stdout.write(f"\nFieldleaf is ready.\n\n  Desk    http://{HOST}:{port}/")
        self.stdout.write(f"  Tablet  http://{HOST}:{port}/field/\n\nSign in as")
        for account in accounts:
            self.stdout.write(
                f"  {account.username:<10} {account.password:<22} {account.name}, {account.role}"
            )
        self.stdout.write("\nThe photographs of a few sheets are being read in the background.")
        self.stdout.write("Everything is invented. Stop with Ctrl-C; nothing is lost.")
        self.stdout.flush()


def _worker() -> "subprocess.Popen[bytes]":
    """One worker beside the server. It ends with this process, however that ends."""
    return subprocess.Popen(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "worker", "--while-open"],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
    )


def _end(worker: "subprocess.Popen[bytes]") -> None:
    assert worker.stdin is not None
    worker.stdin.close()
    try:
        worker.wait(WORKER_ENDS_S)
    except subprocess.TimeoutExpired:
        worker.kill()


def _is_taken(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError:
            return True
    return False
