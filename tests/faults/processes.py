"""Ends processes the hard way: no signal they could hear, and all at once."""

import os
import signal
from pathlib import Path


def kill_tree(pid: int) -> None:
    """SIGKILL a process that a test started, and all that it started in turn."""
    try:
        # It can start nothing more while its children are counted.
        os.kill(pid, signal.SIGSTOP)
        for one in [pid, *_below(pid)]:
            os.kill(one, signal.SIGKILL)
    except ProcessLookupError:
        pass


def browser_on(profile: Path) -> int:
    """The first process of the Chromium that runs on a profile folder."""
    flag = f"--user-data-dir={profile}".encode()
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            words = _read(folder / "cmdline").split(b"\0")
            if flag in words and not any(word.startswith(b"--type=") for word in words):
                return int(folder.name)
    raise LookupError(f"No browser runs on {profile}.")


def _below(pid: int) -> list[int]:
    parents = {
        int(folder.name): int(_read(folder / "stat").rpartition(b")")[2].split()[1])
        for folder in Path("/proc").iterdir()
        if folder.name.isdigit() and _read(folder / "stat")
    }
    found: list[int] = []
    layer = [pid]
    while layer:
        layer = [child for child, parent in parents.items() if parent in layer]
        found += layer
    return found


def _read(path: Path) -> bytes:
    """Empty for a process that ended meanwhile."""
    try:
        return path.read_bytes()
    except OSError:
        return b""
