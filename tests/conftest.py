"""What every test stands on: a folder of its own for files, and quick passwords."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, settings: Any) -> None:
    settings.PHOTOGRAPHS_DIR = tmp_path / "photographs"
    settings.UPLOADS_DIR = tmp_path / "uploads"


@pytest.fixture(autouse=True)
def quick_passwords(settings: Any) -> None:
    # A real hash takes half a second of work on purpose, and every person made here has one.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
