"""Of what was noted before and what differs now, the growth that can be relied on is told."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from survey.imaging.changed_regions import ChangedRegion
from survey.imaging.geometry import Measured
from survey.imaging.growth import Growth
from survey.reading.kinds import grown
from survey.reading.kinds.grown import NOT_FOLLOWED, OTHERWISE, Noted, places_of, told_of

SHEET: Any = SimpleNamespace(size_mm=(120.0, 100.0))
LINE = [[30.0, 20.0], [60.0, 20.0]]
REGION = ChangedRegion(
    "line", ((40.0, 19.0), (70.0, 19.0), (70.0, 21.0), (40.0, 21.0)), 60.0, 9.0, 30.0, 1.0,
    -20.0, 1.0, 8.0, "a line, darker than before",
)  # fmt: skip
NOTED = Noted("one", "Tear", np.array(LINE), is_outline=False, kind="line")
NEW = {"kind": "line", "change": [28.0, 0.5], "is_whole": False}


def told(change: float) -> dict[str, Any]:
    """As followed over all that differs, or only to where it had ended."""
    end = 70.0 if change > 1 else 55.0
    points = [[x, 20.0] for x in np.arange(30.0, end)]
    return {"kind": "line", "change": [change, 0.5], "is_whole": True, "points": points}


@pytest.fixture
def measures(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What is measured from what was noted, and from what differs."""
    found: dict[str, Any] = {"noted": told(29.0), "new": NEW}
    monkeypatch.setattr(grown, "_measured", lambda *_: found["noted"])
    monkeypatch.setattr(grown, "_measured_new", lambda *_: found["new"])
    return found


def test_what_was_noted_counts_before_what_differs(measures: dict[str, Any]) -> None:
    [place] = places_of(SHEET, [REGION], [NOTED], 0.0)
    assert place["growth"] == told(29.0)
    assert place["noted"] == {"observation": "one", "name": "Tear"}


def test_what_was_noted_elsewhere_stands_after_what_differs(measures: dict[str, Any]) -> None:
    far = Noted(
        "two", "Crease", np.array(LINE) + np.array((0.0, 60.0)), is_outline=False, kind="line"
    )
    places = places_of(SHEET, [REGION], [far], 0.0)
    assert [one["growth"] for one in places] == [NEW, told(29.0)]
    assert "noted" not in places[0] and "strength" not in places[1]


def test_a_line_that_was_not_followed_as_far_as_it_differs_is_not_believed(
    measures: dict[str, Any],
) -> None:
    measures["noted"] = told(0.3)
    [place] = places_of(SHEET, [REGION], [NOTED], 0.0)
    assert place["growth"] == NEW
    measures["new"] = {"sentence": "Too faint."}
    [place] = places_of(SHEET, [REGION], [NOTED], 0.0)
    assert place["growth"] == {"sentence": NOT_FOLLOWED}


@pytest.mark.parametrize(("mm", "is_told"), [(122.0, False), (14.0, False), (27.0, True)])
def test_a_line_followed_along_another_length_than_differs_is_not_believed(
    monkeypatch: pytest.MonkeyPatch, mm: float, is_told: bool
) -> None:
    change = Measured(mm, 0.5)
    growth = Growth("line", None, change, change, True, ((40.0, 20.0), (70.0, 20.0)))
    monkeypatch.setattr(grown, "growth_of", lambda *_, **__: growth)
    [place] = places_of(SHEET, [REGION], [], 0.0)
    assert place["growth"] == (told_of(growth) if is_told else {"sentence": OTHERWISE})


def test_an_outline_of_the_whole_sheet_is_passed_over(measures: dict[str, Any]) -> None:
    whole = np.array([[0.0, 0.0], [120.0, 0.0], [120.0, 100.0], [0.0, 100.0]])
    assert places_of(SHEET, [], [Noted("all", "Cockling", whole, True, None)], 0.0) == []
