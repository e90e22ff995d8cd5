"""What every test stands on: photographs and uploads in a folder of its own."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, settings: Any) -> None:
    settings.PHOTOGRAPHS_DIR = tmp_path / "photographs"
    settings.UPLOADS_DIR = tmp_path / "uploads"
