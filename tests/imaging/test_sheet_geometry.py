"""The numbers that the tablet's geometry is checked against are those of OpenCV and NumPy."""

import json
from typing import Any

import pytest

from tests.imaging.sheet_geometry import FIXTURE, numbers


def flat(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [number for key in sorted(value) for number in flat(value[key])]
    if isinstance(value, list):
        return [number for each in value for number in flat(each)]
    return [value]


def test_the_fixture_holds_what_opencv_and_numpy_work_out() -> None:
    kept, made = json.loads(FIXTURE.read_text()), json.loads(json.dumps(numbers()))
    assert kept.keys() == made.keys()
    assert flat(kept) == pytest.approx(flat(made), rel=1e-6, abs=1e-9)
