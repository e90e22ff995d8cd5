"""Sets up a bare machine: the environment, the browser and the node packages.

Runs before anything is installed, so it uses the standard library only.
"""

import ctypes
import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
FRONTEND = ROOT / "frontend"

RUN_LOCK = ROOT / "requirements.lock"
# Holds everything in the other lock at the same versions, and the tools of the tests.
TESTS_LOCK = ROOT / "tests" / "requirements.lock"

# What WeasyPrint opens beside Python's packages: as Debian calls it, and by the kind of system.
PANGO_PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0")
PANGO_LIBRARIES = {
    "linux": ("libpango-1.0.so.0", "libpangoft2-1.0.so.0", "libharfbuzz.so.0"),
    "darwin": ("libpango-1.0.dylib", "libpangoft2-1.0.dylib", "libharfbuzz.0.dylib"),
}

# The one for which Debian packages GTK: not the one of .venv, nor another that is first in PATH.
SYSTEM_PYTHON = "/usr/bin/python3"


def enter(lock: Path) -> None:
    """Go on inside .venv with everything in the lock installed; make or mend it if needed.

    Returns when this process runs in .venv; otherwise replaces the process by the same
    command there. A second call finds its stamp and does nothing.
    """
    if sys.version_info < (3, 11):  # noqa: UP036 — this is the check that says so
        stop("Fieldleaf needs Python 3.11 or later. Run this command with a newer python3.")
    wanted = {path: _digest(path) for path in (RUN_LOCK, TESTS_LOCK)}
    if not _is_stamped(lock, wanted[lock]):
        _make_environment()
        say(f"Installing the packages named in {lock.relative_to(ROOT)} (once) …")
        run([str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check",
             "--requirement", str(lock)])  # fmt: skip
        _stamp(RUN_LOCK, wanted[RUN_LOCK])
        if lock == TESTS_LOCK:
            _stamp(TESTS_LOCK, wanted[TESTS_LOCK])
    if Path(sys.prefix).resolve() != VENV.resolve():
        os.execv(PYTHON, [str(PYTHON), *sys.argv])


def ensure_chromium() -> None:
    """Install the browser that the tests drive, if it is absent."""
    if shutil.which("chromium"):
        return
    say("Installing Chromium from the system's packages (once) …")
    install_system_package("chromium")


def ensure_postgresql() -> None:
    """Install the database server that the tests are also run on, if it is absent."""
    if postgresql_programs():
        return
    say("Installing PostgreSQL from the system's packages (once) …")
    install_system_package("postgresql")


def postgresql_programs() -> Path | None:
    """The folder of the newest PostgreSQL's programs, where Debian puts them or in PATH."""
    folders = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    found = shutil.which("initdb")
    if not folders and found:
        folders = [Path(found).resolve().parent]
    return max(folders, key=lambda folder: folder.parent.name.zfill(4), default=None)


def has_pango() -> bool:
    """A quick look, for every start and every page that offers a report."""
    for name in PANGO_LIBRARIES.get(sys.platform, ()):
        try:
            ctypes.CDLL(name)
        except OSError:
            return False
    return True


def ensure_pango(*, is_needed: bool) -> None:
    """Install the library that sets the text of PDF reports, if it is absent.

    is_needed  end where it cannot be installed; otherwise say what does not work without it
    """
    if has_pango():
        return
    say("Installing Pango from the system's packages (once) …")
    if _apt_get("install", "-y", "--no-install-recommends", *PANGO_PACKAGES):
        return
    names = " ".join(PANGO_PACKAGES)
    if is_needed:
        stop(f"Pango could not be installed. Please install it with this system's package manager "
             f"(on Debian: {names}), then run the command again.")  # fmt: skip
    say(f"Pango could not be installed here (on Debian: {names}). All works without it but PDF "
        "reports.")  # fmt: skip


def ensure_webkit() -> None:
    """Install a second browser engine where this system has it; without it its tests skip."""
    if not lacking_for_webkit():
        return
    say("Installing WebKit from the system's packages (once) …")
    if not _apt_get("install", "-y", "--no-install-recommends", *lacking_for_webkit()):
        say("WebKit could not be installed here. The tests in it will be skipped.")


def lacking_for_webkit() -> list[str]:
    """Debian's names of the packages that the tests in WebKit need and that are not here."""
    programs = {"WebKitWebDriver": "webkit2gtk-driver", "Xvfb": "xvfb"}
    lacking = [package for program, package in programs.items() if not shutil.which(program)]
    if not _works([SYSTEM_PYTHON, "-c", "import gi; gi.require_version('WebKit2', '4.1')"]):
        lacking += ["python3-gi", "gir1.2-webkit2-4.1"]
    return lacking


def ensure_node_packages() -> None:
    """Install the type checker and the libraries' types from frontend/package-lock.json."""
    lock = FRONTEND / "package-lock.json"
    stamp = FRONTEND / "node_modules" / ".installed"
    wanted = _digest(lock)
    if stamp.is_file() and stamp.read_text() == wanted:
        return
    say("Installing the node packages named in frontend/package-lock.json (once) …")
    run([str(VENV / "bin" / "npm"), "ci", "--no-audit", "--no-fund", "--silent"], FRONTEND)
    stamp.write_text(wanted)


def install_system_package(name: str) -> None:
    """Install a Debian package; say what to do when that does not work here."""
    if not _apt_get("install", "-y", name):
        stop(f"The package “{name}” could not be installed. Please install it with this system's "
             "package manager, then run the command again.")  # fmt: skip


def run(command: list[str], folder: Path = ROOT) -> None:
    """Run a step; end with a sentence when it fails."""
    if subprocess.run(command, cwd=folder).returncode:
        stop(f"This step failed: {' '.join(command)}\nMend what it says above, then run again.")


def say(sentence: str) -> None:
    print(sentence, flush=True)


def stop(sentence: str) -> NoReturn:
    sys.exit(sentence)


def _make_environment() -> None:
    if PYTHON.exists() and _works([str(PYTHON), "-m", "pip", "--version"]):
        return
    say("Making .venv (once) …")
    if not _works([sys.executable, "-c", "import ensurepip"]):
        # Debian splits this part of Python off into a package of its own.
        install_system_package("python3-venv")
    # In a process of its own: this one may have started before ensurepip was there.
    run([sys.executable, "-m", venv.__name__, "--clear", str(VENV)])


def _apt_get(*arguments: str) -> bool:
    """Run apt-get on fresh lists, as root or through sudo; whether it could."""
    rights = [] if os.geteuid() == 0 else ["sudo", "--non-interactive"]
    if not shutil.which("apt-get") or (rights and not shutil.which("sudo")):
        return False
    command = [*rights, "apt-get", "-qq"]
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for step in (["update"], arguments):
        done = subprocess.run([*command, *step], env=environment, stdout=subprocess.DEVNULL)
        if done.returncode:
            return False
    return True


def _works(command: list[str]) -> bool:
    """Whether there is such a program here and it ends well."""
    found = shutil.which(command[0]) is not None
    return found and subprocess.run(command, capture_output=True).returncode == 0


def _stamp_path(lock: Path) -> Path:
    return VENV / f"installed-{lock.parent.name if lock == TESTS_LOCK else 'run'}"


def _is_stamped(lock: Path, digest: str) -> bool:
    path = _stamp_path(lock)
    return PYTHON.exists() and path.is_file() and path.read_text() == digest


def _stamp(lock: Path, digest: str) -> None:
    _stamp_path(lock).write_text(digest)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
