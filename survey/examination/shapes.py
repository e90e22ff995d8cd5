"""Checks of the JSON shapes an examination carries: positions, marks, regions, homographies.

Each takes what came in and gives it back unchanged, or raises a validation error whose
sentence says which shape is meant.
"""

import math
import uuid
from typing import Any

from rest_framework import serializers

from survey.catalogue.models import LONGEST_SHEET_MM

SMALLEST_DETERMINANT = 1e-12


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
        or not all(isinstance(point, list) and len(point) == 2 for point in points)
        or not all(
            is_within(number, -LONGEST_SHEET_MM, LONGEST_SHEET_MM)
            for point in points
            for number in point
        )
        or len({tuple(point) for point in points}) < 3
    ):
        raise serializers.ValidationError(
            "A region is a polygon of at least three different points, each [x, y] in "
            "millimetres on the sheet."
        )
    return region


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
