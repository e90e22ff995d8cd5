"""The command line, as somebody uses it who has only the system's Python."""

import os
import subprocess
import sys
from pathlib import Path

from survey import bootstrap


def test_every_command_finds_its_packages_by_itself(tmp_path: Path) -> None:
    outside = Path(sys.base_prefix) / "bin" / "python3"
    ran = subprocess.run(
        [outside, str(bootstrap.ROOT / "manage.py"), "migrate", "--check"],
        env={"PATH": os.environ["PATH"], "FIELDLEAF_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert "ModuleNotFoundError" not in ran.stderr
    assert ran.returncode == 1, ran.stderr  # An empty database lacks every migration.
