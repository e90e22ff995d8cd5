"""Checks of the JSON shapes an examination carries: positions, marks, regions,
homographies, placings, points of a measurement, checks of a shot.

Each takes what came in and gives it back unchanged, or raises a validation error whose
sentence says which shape is meant.
"""

import math
import uuid
from typing import Any

from rest_framework import serializers

from survey.catalogue.models import LONGEST_SHEET_MM

SMALLEST_DETERMINANT = 1e-12
MOST_PIXELS_ACROSS = 1_000_000


def is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def is_within(value: Any, low: float, high: float) -> bool:
    return is_number(value) and low <= value <= high


def is_key(value: Any) -> bool:
    try:
        uuid.UUID(value)
    except (TypeError, ValueError, AttributeError):
        return False
    return True


def check_position(position: Any) -> Any:
    """``{"latitude": °, "longitude": °, "accuracy_m": metres}``."""
    if (
        not isinstance(position, dict)
        or set(position) != {"latitude", "longitude", "accuracy_m"}
        or not is_within(position["latitude"], -90, 90)
        or not is_within(position["longitude"], -180, 180)
        or not is_number(position["accuracy_m"])
        or position["accuracy_m"] < 0
    ):
        raise serializers.ValidationError(
            "A position is a latitude (−90 to 90°), a longitude (−180 to 180°) "
            "and an accuracy in metres."
        )
    return position


def check_mark(mark: Any) -> Any:
    """``{"photograph": key, "x": 0…1, "y": 0…1}``.

    The photograph itself may still be on its way, so only the shape is looked at.
    """
    if (
        not isinstance(mark, dict)
        or set(mark) != {"photograph", "x", "y"}
        or not is_key(mark["photograph"])
        or not is_within(mark["x"], 0, 1)
        or not is_within(mark["y"], 0, 1)
    ):
        raise serializers.ValidationError(
            "A mark names a photograph and a place on it: x and y from 0 to 1, "
            "as shares of its width and height."
        )
    return mark


def check_region(region: Any) -> Any:
    """``{"kind": "polygon", "points": [[x mm, y mm], …]}``, three points or more."""
    points = region.get("points") if isinstance(region, dict) else None
    if (
        not isinstance(region, dict)
        or set(region) != {"kind", "points"}
        or region["kind"] != "polygon"
        or not isinstance(points, list)
        or not all(is_point(point, LONGEST_SHEET_MM) for point in points)
        or len({tuple(point) for point in points}) < 3
    ):
        raise serializers.ValidationError(
            "A region is a polygon of at least three different points, each [x, y] in "
            "millimetres on the sheet."
        )
    return region


def check_points(points: Any) -> Any:
    """``[[x mm, y mm], …]`` on the sheet, two points or more."""
    if (
        not isinstance(points, list)
        or len(points) < 2
        or not all(is_point(point, LONGEST_SHEET_MM) for point in points)
    ):
        raise serializers.ValidationError(
            "A measured line is at least two points, each [x, y] in millimetres on the sheet."
        )
    return points


def check_placing(placing: Any) -> Any:
    """How a photograph was laid on the sheet's millimetres.

    kind            "corners": the sheet's four, from its top left one clockwise, as seen;
                    "scale": the two ends of a scale bar; "aligned": by a photograph of the same
                    side that was placed before
    points          [[x, y], …] in pixels of the upright picture; none for "aligned"
    size_mm         [width, height] of the sheet, or [length] of the bar; none for "aligned"
    mm_per_px       at the middle of the picture
    uncertainty_mm  standard uncertainty of a place on the sheet
    photograph      key of the photograph it was aligned to; only for "aligned"
    """
    wanted = {"corners": (4, 2), "scale": (2, 1), "aligned": (0, 0)}
    kind = placing.get("kind") if isinstance(placing, dict) else None
    kind = kind if isinstance(kind, str) else ""
    many, sizes = wanted.get(kind, (0, 0))
    keys = {"kind", "points", "size_mm", "mm_per_px", "uncertainty_mm"}
    if (
        kind not in wanted
        or set(placing) != (keys | {"photograph"} if kind == "aligned" else keys)
        or not isinstance(placing["points"], list)
        or len(placing["points"]) != many
        or not all(is_point(point, MOST_PIXELS_ACROSS) for point in placing["points"])
        or not isinstance(placing["size_mm"], list)
        or len(placing["size_mm"]) != sizes
        or not all(is_within(size, 0.1, LONGEST_SHEET_MM) for size in placing["size_mm"])
        or not is_within(placing["mm_per_px"], 1e-5, LONGEST_SHEET_MM)
        or not is_within(placing["uncertainty_mm"], 0, LONGEST_SHEET_MM)
        or (kind == "aligned" and not is_key(placing["photograph"]))
    ):
        raise serializers.ValidationError(
            "This does not say how the photograph lies on the sheet. Tap the four corners, or the "
            "two ends of the scale, again."
        )
    return placing


def check_shot_check(check: Any) -> Any:
    """``{"sharp": bool, "steady": bool, "exposed": bool, "sentences": [str, …]}``.

    What the tablet found in the picture right after the shot, and what it told the person.
    """
    said = ("sharp", "steady", "exposed")
    if (
        not isinstance(check, dict)
        or set(check) != {*said, "sentences"}
        or not all(isinstance(check[name], bool) for name in said)
        or not isinstance(check["sentences"], list)
        or not all(isinstance(one, str) and len(one) <= 300 for one in check["sentences"])
    ):
        raise serializers.ValidationError(
            "This is not a check of a photograph: it says of sharp, steady and exposed whether "
            "they hold, and gives its sentences."
        )
    return check


def is_point(point: Any, most: float) -> bool:
    return (
        isinstance(point, list)
        and len(point) == 2
        and all(is_within(number, -most, most) for number in point)
    )


def check_homography(homography: Any) -> Any:
    """Nine numbers, row by row, of a matrix that can be inverted."""
    if (
        not isinstance(homography, list)
        or len(homography) != 9
        or not all(is_number(number) for number in homography)
        or abs(determinant(homography)) < SMALLEST_DETERMINANT
    ):
        raise serializers.ValidationError(
            "A homography is nine numbers, row by row, that map pixels to millimetres and back. "
            "Set the corner points again."
        )
    return homography


def determinant(matrix: list[float]) -> float:
    """Of a 3 × 3 matrix given row by row."""
    a, b, c, d, e, f, g, h, i = matrix
    return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
