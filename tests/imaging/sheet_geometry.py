"""Numbers of OpenCV and NumPy for the tablet's geometry of the sheet to be checked against.

    python -m tests.imaging.sheet_geometry      writes fixtures/sheet-geometry.json anew

What a tap's or a ruler's uncertainty does to a result is worked out here by moving each input a
little and looking how far the result goes: no formula is shared with what is checked.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

FIXTURE = Path(__file__).parents[2] / "fixtures" / "sheet-geometry.json"

Array = NDArray[np.float64]

# Corners in pixels: squarely from above, and held by hand.
CAMERAS = {
    "square": [[200, 150], [3200, 150], [3200, 2400], [200, 2400]],
    "held by hand": [[231.5, 180.25], [3105.75, 122.5], [3222.25, 2390.0], [187.0, 2331.5]],
    "turned": [[3050, 300], [3100, 2900], [250, 2950], [205, 280]],
}
SHEET = {"width_mm": 300.0, "height_mm": 225.0, "sheet_uncertainty_mm": 1.0, "tap_px": 3.0}
BAR = [[512.0, 2600.0], [1009.5, 2611.0]]
BAR_MM, BAR_U_MM, TILT_DEG = 50.0, 0.1, 3.0
# As the tablet and the server take it: distance of the lens as a share of the longer side.
LENS_DISTANCE = 0.76
PICTURE = (3400, 2700)
LINE = [[20.0, 30.0], [52.0, 41.5], [80.5, 40.0], [120.25, 71.0]]
OUTLINE = [[40.0, 50.0], [90.0, 44.0], [120.0, 80.0], [75.0, 110.0], [38.0, 90.0]]
CHAINS = [[12.1, 100.0], [37.4, 100.8], [62.2, 101.9], [87.9, 102.6], [112.7, 103.4]]
PIXELS = [[0.5, 0.5], [1700.0, 1200.0], [3000.5, 2222.25]]


def homography(corners: Any, width: float, height: float) -> Array:
    mm = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    start = np.asarray(corners, dtype=np.float32)
    # OpenCV takes single precision only; this solves the same eight equations in double.
    found = cv2.getPerspectiveTransform(start, mm.astype(np.float32))
    exact = solved(np.asarray(corners, dtype=float), mm.astype(float))
    assert np.allclose(cv2.perspectiveTransform(start[None], found), mm, atol=1e-3)
    assert np.allclose(exact, found / found[2, 2], rtol=1e-3, atol=1e-6)
    return exact


def solved(start: Array, end: Array) -> Array:
    rows = []
    for (x, y), (u, v) in zip(start, end, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    return np.append(np.linalg.solve(np.array(rows), end.reshape(-1)), 1).reshape(3, 3)


def through(matrix: Array, points: Any) -> Array:
    return cv2.perspectiveTransform(np.asarray(points, dtype=float)[None], matrix)[0]


def carried(result: Callable[[Array], Array], inputs: Array, u: Array) -> Array:
    """The standard uncertainty of each result from those of independent inputs."""
    total = np.zeros_like(np.atleast_1d(result(inputs)))
    for at, own in enumerate(u):
        if own == 0:
            continue
        step = np.zeros_like(inputs)
        step[at] = own * 1e-3
        slope = (result(inputs + step) - result(inputs - step)) / (2 * own * 1e-3)
        total = total + (np.atleast_1d(slope) * own) ** 2
    return np.sqrt(total)


def of_camera(corners: Any) -> dict[str, Any]:
    width, height = SHEET["width_mm"], SHEET["height_mm"]
    matrix = homography(corners, width, height)
    middle = np.mean(corners, axis=0)
    around = through(matrix, middle + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]))
    small = (around - around[0]).astype(np.float32)

    def placed(inputs: Array, pixels: Array) -> Array:
        right, foot = inputs[8:10]
        end = np.array([[0, 0], [right, 0], [right, foot], [0, foot]])
        return through(solved(inputs[:8].reshape(4, 2), end), pixels)

    inputs = np.append(np.asarray(corners, dtype=float).reshape(-1), [width, height])
    u = np.array([SHEET["tap_px"]] * 8 + [SHEET["sheet_uncertainty_mm"]] * 2)
    return {
        "corners": corners,
        "matrix": matrix.reshape(-1).tolist(),
        "inverse": np.linalg.inv(matrix).reshape(-1).tolist(),
        "mm_per_px": float(np.sqrt(cv2.contourArea(small))) / 2,
        "pixels_mm": through(matrix, PIXELS).tolist(),
        **results(placed, inputs, u, np.linalg.inv(matrix), (width, height)),
    }


def of_bar() -> dict[str, Any]:
    """Everything turns about the middle of the scale; a tilt of the camera is looked at too."""
    ends, size = np.array(BAR), np.array(PICTURE, dtype=float)
    per_px = BAR_MM / float(np.linalg.norm(ends[1] - ends[0]))
    middle = size / 2

    def tilted(pixels: Array, tilt: Array) -> Array:
        off = pixels - middle
        nearer = off @ tilt / (LENS_DISTANCE * size.max())
        return middle + off / (1 - nearer)[:, None]

    def placed(inputs: Array, pixels: Array) -> Array:
        seen = tilted(ends, inputs[5:7])
        tapped = seen + inputs[:4].reshape(2, 2)
        longer = inputs[4] / float(np.linalg.norm(tapped[1] - tapped[0]))
        return (
            ends.mean(axis=0) * per_px + (tilted(pixels, inputs[5:7]) - seen.mean(axis=0)) * longer
        )

    inputs = np.array([0, 0, 0, 0, BAR_MM, 0, 0], dtype=float)
    tilt = np.radians(TILT_DEG)
    u = np.array([SHEET["tap_px"]] * 4 + [BAR_U_MM, tilt, tilt])
    # Ends that move across the scale turn it, which no length feels.
    to_px = np.diag([1 / per_px, 1 / per_px, 1.0])
    return {
        "points": BAR,
        "length_mm": BAR_MM,
        "length_uncertainty_mm": BAR_U_MM,
        "picture": PICTURE,
        "mm_per_px": per_px,
        **results(placed, inputs, u, to_px, (PICTURE[0] * per_px, PICTURE[1] * per_px)),
    }


def results(
    placed: Callable[[Array, Array], Array],
    inputs: Array,
    u: Array,
    to_px: Array,
    size_mm: tuple[float, float],
) -> dict[str, Any]:
    """What one measures on a picture that is placed by uncertain inputs, by uncertain taps."""
    steps = np.linspace(0, 1, 9)
    grid = through(to_px, [[x * size_mm[0], y * size_mm[1]] for x in steps for y in steps])
    everywhere = carried(lambda now: placed(now, grid).reshape(-1), inputs, u)

    def measured(points: Any, function: Callable[[Array], float]) -> dict[str, Any]:
        taps = through(to_px, points).reshape(-1)

        def result(now: Array) -> Array:
            return np.array([function(placed(now[: len(u)], now[len(u) :].reshape(-1, 2)))])

        both = np.append(inputs, taps)
        errors = np.append(u, np.full(len(taps), SHEET["tap_px"]))
        return {
            "points": points,
            "value": function(np.asarray(points)),
            "uncertainty": float(carried(result, both, errors)[0]),
        }

    return {
        "uncertainty_mm": float(np.sqrt(np.mean(everywhere**2))),
        "line": measured(LINE, length),
        "outline": measured(OUTLINE, area),
        "chains": measured(CHAINS, interval),
    }


def length(points: Array) -> float:
    return float(sum(np.linalg.norm(np.diff(points, axis=0), axis=1)))


def area(points: Array) -> float:
    x, y = points.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def interval(points: Array) -> float:
    way = points[-1] - points[0]
    along = (points - points[0]) @ (way / np.linalg.norm(way))
    return float(np.polyfit(np.arange(len(points)), along, 1)[0])


def numbers() -> dict[str, Any]:
    for points, function, name in ((LINE, length, "arcLength"), (OUTLINE, area, "contourArea")):
        single = np.asarray(points, dtype=np.float32)
        by_opencv = cv2.arcLength(single, False) if name == "arcLength" else cv2.contourArea(single)
        assert np.isclose(function(np.asarray(points)), by_opencv, rtol=1e-5)
    return {
        "sheet": SHEET,
        "cameras": {name: of_camera(corners) for name, corners in CAMERAS.items()},
        "pixels": PIXELS,
        "bar": of_bar(),
    }


if __name__ == "__main__":
    FIXTURE.write_text(json.dumps(numbers(), indent=1) + "\n")
