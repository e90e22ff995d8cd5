"""The shapes of placings, checks of shots and measured lines: taken as they are, or refused."""

from collections.abc import Callable
from typing import Any

import pytest
from rest_framework.serializers import ValidationError

from survey.examination.shapes import check_placing, check_points, check_shot_check
from tests.examination.round import begin
from tests.factories import PhotographFactory

KEY = "0197f000-0000-7000-8000-000000000001"
CORNERS: dict[str, Any] = {
    "kind": "corners",
    "points": [[10, 12.5], [900, 14], [897, 700], [8, 705]],
    "size_mm": [310, 225.5],
    "mm_per_px": 0.35,
    "uncertainty_mm": 0.6,
}
SCALE: dict[str, Any] = CORNERS | {
    "kind": "scale",
    "points": [[10, 700], [160, 701]],
    "size_mm": [50],
}
ALIGNED: dict[str, Any] = CORNERS | {
    "kind": "aligned",
    "points": [],
    "size_mm": [],
    "photograph": KEY,
}
SHOT: dict[str, Any] = {"sharp": True, "steady": True, "exposed": False, "sentences": ["Too dark."]}


@pytest.mark.parametrize(
    ("check", "value"),
    [
        (check_placing, CORNERS),
        (check_placing, SCALE),
        (check_placing, ALIGNED),
        (check_placing, CORNERS | {"uncertainty_mm": 0}),
        (check_shot_check, SHOT),
        (check_shot_check, SHOT | {"sentences": []}),
        (check_points, [[0, 0], [12.5, -3]]),
        (check_points, [[0, 0], [10, 0], [10, 10], [0, 0]]),
    ],
)
def test_it_gives_back_what_is_good(check: Callable[[Any], Any], value: Any) -> None:
    assert check(value) is value


def without(shape: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in shape.items() if key != name}


@pytest.mark.parametrize(
    "placing",
    [
        [],
        "corners",
        {},
        CORNERS | {"kind": "guessed"},
        CORNERS | {"kind": ["corners"]},
        CORNERS | {"by": "eye"},
        *(without(CORNERS, name) for name in CORNERS),
        CORNERS | {"points": CORNERS["points"][:3]},
        CORNERS | {"points": [*CORNERS["points"], [1, 1]]},
        CORNERS | {"points": [[10, 12], [900, "14"], [897, 700], [8, 705]]},
        CORNERS | {"points": [[10, 12], [900, True], [897, 700], [8, 705]]},
        CORNERS | {"points": [[10, 12, 0], [900, 14], [897, 700], [8, 705]]},
        CORNERS | {"points": [[10, float("nan")], [900, 14], [897, 700], [8, 705]]},
        CORNERS | {"points": [[10, 2_000_000], [900, 14], [897, 700], [8, 705]]},
        CORNERS | {"size_mm": [310]},
        CORNERS | {"size_mm": [310, 0]},
        CORNERS | {"size_mm": [310, 10_001]},
        CORNERS | {"mm_per_px": 0},
        CORNERS | {"mm_per_px": None},
        CORNERS | {"uncertainty_mm": -0.1},
        CORNERS | {"photograph": KEY},
        SCALE | {"size_mm": [50, 50]},
        without(ALIGNED, "photograph"),
        ALIGNED | {"photograph": "the other one"},
        ALIGNED | {"points": [[1, 1]]},
    ],
)
def test_it_refuses_a_placing_that_does_not_say_how_the_photograph_lies(placing: Any) -> None:
    with pytest.raises(ValidationError, match="Tap the four corners, or the two ends of the scale"):
        check_placing(placing)


@pytest.mark.parametrize(
    "check",
    [
        None,
        [],
        {},
        *(without(SHOT, name) for name in SHOT),
        SHOT | {"sharp": 1},
        SHOT | {"steady": "yes"},
        SHOT | {"sentences": "Too dark."},
        SHOT | {"sentences": [7]},
        SHOT | {"sentences": ["long" * 76]},
        SHOT | {"bright": True},
    ],
)
def test_it_refuses_what_is_no_check_of_a_shot(check: Any) -> None:
    with pytest.raises(ValidationError, match="not a check of a photograph"):
        check_shot_check(check)


@pytest.mark.parametrize(
    "points",
    [None, {}, [], [[1, 1]], [[1, 1], [2]], [[1, 1], [2, "2"]], [[1, 1], [2, float("inf")]],
     [[1, 1], [20_000, 1]], [[True, 1], [2, 2]]],
)  # fmt: skip
def test_it_refuses_what_is_no_measured_line(points: Any) -> None:
    with pytest.raises(ValidationError, match="at least two points, each"):
        check_points(points)


@pytest.mark.django_db
def test_a_tablet_sends_placings_checks_and_tapped_measurements() -> None:
    on = begin(lamp_s=90)
    photograph = on.part(
        "photograph", homography=[0.35, 0, -3, 0, 0.35, -4, 0, 0, 1], placing=CORNERS,
        shot_check=SHOT,
    )  # fmt: skip
    on.part("measurement", photograph=photograph, points=[[0, 0], [12, 0]])
    rows = {row["id"]: row["fields"] for row in on.tablet.pull()}
    assert rows[photograph]["placing"] == CORNERS
    assert rows[photograph]["shot_check"] == SHOT
    assert rows[on.key]["lamp_s"] == 90


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("entity", "fields", "field", "said"),
    [
        ("photograph", {"placing": {}}, "placing", "does not say how the photograph lies"),
        ("photograph", {"shot_check": {}}, "shot_check", "not a check of a photograph"),
        ("measurement", {"points": [[1, 1]]}, "points", "at least two points"),
    ],
)
def test_it_refuses_other_shapes_from_a_tablet(
    entity: str, fields: dict[str, Any], field: str, said: str
) -> None:
    assert said in begin().refusal(entity, **fields)[field]


@pytest.mark.django_db
def test_a_measurement_is_tapped_on_a_photograph_of_its_own_examination() -> None:
    elsewhere = str(PhotographFactory().pk)
    reasons = begin().refusal("measurement", photograph=elsewhere, points=[[0, 0], [1, 1]])
    assert reasons == {"photograph": "This photograph belongs to another examination."}
