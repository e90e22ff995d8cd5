"""A server's data folder of its own, and its commands as whoever looks after it runs them."""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]

SETUP = """
import django; django.setup()
from django.test.utils import setup_test_environment; setup_test_environment()
from django.conf import settings
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
from survey.sync.models import *
from survey.examination.models import *
from survey.access.models import *
from tests.factories import *
from tests.sync.care.pictures import picture
from tests.tablets import WireTablet
"""


@dataclass
class Ran:
    code: int
    said: str
    told: str


@dataclass
class Kept:
    """A data folder. Every call is a process of its own, as it would be."""

    data: Path
    database: str = ""

    def manage(self, *arguments: Any, **environment: str) -> Ran:
        return self._run([sys.executable, "manage.py", *map(str, arguments)], environment)

    def python(self, code: str) -> str:
        """Run code that knows the models, factories and tablets; what it prints."""
        done = self._run([sys.executable, "-c", SETUP + code], {})
        assert done.code == 0, done.told
        return done.said

    def _run(self, command: list[str], environment: dict[str, str]) -> Ran:
        own = {
            "FIELDLEAF_DATA": str(self.data),
            "DJANGO_SETTINGS_MODULE": "survey.settings",
            "FIELDLEAF_DATABASE": self.database,
        }
        done = subprocess.run(
            command,
            cwd=ROOT,
            env={**os.environ, **own, **environment},
            capture_output=True,
            text=True,
            check=False,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    def photographs(self) -> dict[str, bytes]:
        found = (self.data / "photographs").glob("??/??/*")
        return {path.name: path.read_bytes() for path in found}
