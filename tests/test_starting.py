"""What the web process loads before it answers for the first time."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings

# Each takes a tenth of a second or more, and is needed for few answers.
LATER = (
    "icalendar",
    "matplotlib",
    "openpyxl",
    "ortools",
    "pydyf",
    "pypdf",
    "scipy.stats",
    "skimage.morphology",
    "weasyprint",
)
START = f"""
import sys
import django
from django.urls import get_resolver

django.setup()
assert get_resolver().url_patterns
print(*(name for name in {LATER} if name in sys.modules))
"""


def test_what_few_answers_need_is_not_loaded_at_the_start(tmp_path: Path) -> None:
    found = subprocess.run(
        [sys.executable, "-c", START],
        cwd=settings.BASE_DIR,
        env=os.environ | {"FIELDLEAF_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert found.stdout.split() == []
