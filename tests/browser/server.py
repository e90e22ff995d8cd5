"""A real server process on a loopback port, which a test can stop and start again."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def manage(data: Path, *arguments: str) -> None:
    """Run a management command on a data folder; fails the test with its output."""
    subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env={**os.environ, "FIELDLEAF_DATA": str(data)},
        check=True,
        stdout=subprocess.DEVNULL,
    )


def copy_of_the_code(folder: Path) -> Path:
    """A copy of server and app to alter, as another version for ``Server.root``."""
    without = shutil.ignore_patterns("node_modules", "__pycache__")
    for part in ("survey", "frontend"):
        shutil.copytree(ROOT / part, folder / part, ignore=without)
    shutil.copy(ROOT / "manage.py", folder)
    return folder


class Server:
    def __init__(self, data: Path) -> None:
        self.data = data
        # Where the code is that it runs; a test may put another version there.
        self.root = ROOT
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def environment(self) -> dict[str, str]:
        return {**os.environ, "FIELDLEAF_DATA": str(self.data)}

    def start(self) -> None:
        with (self.data / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", "--bind", f"127.0.0.1:{self.port}",
                 "--worker-class", "gthread", "--threads", "8", "survey.wsgi"],
                cwd=self.root,
                env=self.environment,
                stdout=log,
                stderr=log,
            )  # fmt: skip
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            try:
                with urlopen(self.address + "/field/", timeout=2):
                    return
            except (URLError, OSError):
                time.sleep(0.1)
        raise RuntimeError((self.data / "server.log").read_text())

    def stop(self) -> None:
        if self.process:
            self.process.send_signal(signal.SIGTERM)
            # It lets requests under way end, for 30 s at most.
            self.process.wait(timeout=60)
            self.process = None
