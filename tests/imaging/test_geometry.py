"""The sheet's millimetres from tapped points, against libraries, the renderer and chance."""

import math

import cv2
import numpy as np
import pytest
from skimage.transform import ProjectiveTransform

from survey.demo.sheet import camera as bench
from survey.demo.sheet.noise import stream
from survey.imaging.geometry import (
    Placed,
    RectifiedSheet,
    WrongPoints,
    area_mm2,
    four_to_four,
    from_corners,
    from_scale,
    inverse,
    length_mm,
    mapped,
    mirrored,
    place_uncertainty_mm,
    rectify,
    slopes,
    tap_error_px,
)

WIDTH, HEIGHT = 297.0, 210.0
SEEN = np.array([(310.0, 240.0), (3620.0, 190.0), (3780.0, 2790.0), (205.0, 2660.0)])
PICTURE = (4032, 3024)
LINE = [(20.0, 30.0), (120.0, 44.0), (260.0, 190.0)]
OUTLINE = [(30.0, 25.0), (150.0, 20.0), (170.0, 120.0), (60.0, 150.0), (90.0, 80.0)]


def corners_of(width: float, height: float) -> np.ndarray:
    return np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=float)


def seen_by_chance(seed: int) -> np.ndarray:
    """The corners of a sheet seen askew, from any side."""
    random = np.random.default_rng(seed)
    away = random.uniform(0, 0.2, (4, 2)) * (3000, 2000)
    inwards = np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)])
    corners = corners_of(3000, 2000) + inwards * away + 300
    return np.roll(corners, int(random.integers(4)), axis=0)


@pytest.mark.parametrize("seed", range(20))
def test_four_corners_agree_with_two_libraries(seed: int) -> None:
    seen = seen_by_chance(seed)
    sheet = corners_of(WIDTH, HEIGHT)
    ours = from_corners(seen, WIDTH, HEIGHT).matrix
    assert mapped(ours, seen) == pytest.approx(sheet, abs=1e-9)
    places = np.random.default_rng(seed).uniform(300, 2300, (50, 2))
    exact = cv2.getPerspectiveTransform(seen.astype(np.float32), sheet.astype(np.float32))
    fitted, _ = cv2.findHomography(seen, sheet)
    other = ProjectiveTransform.from_estimate(seen, sheet)
    # OpenCV keeps places in single precision.
    for theirs, apart in ((exact, 1e-3), (fitted, 1e-3), (other.params, 1e-9)):
        assert mapped(ours, places) == pytest.approx(mapped(theirs, places), abs=apart)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("side", ["recto", "verso"])
def test_four_corners_give_the_renderers_own_truth(seed: int, side: str) -> None:
    held = bench.held_by_hand(stream(seed, "hands"), 0.06)
    frame = bench.frame_of((WIDTH, HEIGHT), (1050, 1486), 5.0, side, held)
    truth = bench.homography(frame, held)
    seen = mapped(inverse(truth), corners_of(WIDTH, HEIGHT))
    ours = from_corners(seen, WIDTH, HEIGHT, picture_px=(frame.columns, frame.rows)).matrix
    assert ours == pytest.approx(truth, rel=1e-7, abs=1e-9)


def test_slopes_are_those_of_small_steps() -> None:
    matrix = from_corners(SEEN, WIDTH, HEIGHT).matrix
    for place in ((500.0, 700.0), (3000.0, 2500.0)):
        for axis, step in enumerate(np.eye(2) * 1e-3):
            (ahead,), (behind,) = mapped(matrix, place + step), mapped(matrix, place - step)
            assert slopes(matrix, place)[0][:, axis] == pytest.approx(
                (ahead - behind) / 2e-3, rel=1e-6
            )


def tapped_again(random: np.random.Generator, tap_px: float, sheet_mm: float) -> np.ndarray:
    """The matrix of another try at the same four corners of a sheet of another true size."""
    size = random.normal((WIDTH, HEIGHT), sheet_mm)
    return four_to_four(SEEN + random.normal(0, tap_px, (4, 2)), corners_of(*size))


@pytest.mark.parametrize(("tap_px", "sheet_mm"), [(2.0, 0.0), (0.0, 1.0), (3.0, 0.7)])
def test_uncertainties_are_those_of_many_tries(tap_px: float, sheet_mm: float) -> None:
    """1,200 tries tell a standard deviation to 2 % (one standard error)."""
    random = np.random.default_rng(11)
    placed = from_corners(SEEN, WIDTH, HEIGHT, sheet_mm, tap_px)
    to_px = inverse(placed.matrix)
    places = np.array([(0.0, 0.0), (150.0, 100.0), (290.0, 205.0)])
    line_px, outline_px, places_px = (mapped(to_px, all_) for all_ in (LINE, OUTLINE, places))
    lengths, areas, found = [], [], []
    for _ in range(1200):
        matrix = tapped_again(random, tap_px, sheet_mm)
        line = mapped(matrix, line_px + random.normal(0, tap_px, line_px.shape))
        outline = mapped(matrix, outline_px + random.normal(0, tap_px, outline_px.shape))
        lengths.append(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
        areas.append(cv2.contourArea(outline.astype(np.float32)))
        found.append(mapped(matrix, places_px))
    length, area = length_mm(placed, LINE), area_mm2(placed, OUTLINE)
    assert length.value == pytest.approx(np.mean(lengths), rel=0.002)
    assert length.uncertainty == pytest.approx(np.std(lengths), rel=0.08)
    assert area.value == pytest.approx(np.mean(areas), rel=0.002)
    assert area.uncertainty == pytest.approx(np.std(areas), rel=0.08)
    spread = np.sqrt(np.var(np.array(found), axis=0).mean(axis=1))
    assert place_uncertainty_mm(placed, places) == pytest.approx(spread, rel=0.08)


def test_the_uncertainty_of_a_place_stands_in_the_middle_of_those_of_the_sheet() -> None:
    placed = from_corners(SEEN, WIDTH, HEIGHT, 0.5)
    everywhere = place_uncertainty_mm(
        placed, np.random.default_rng(1).uniform((0, 0), (WIDTH, HEIGHT), (500, 2))
    )
    assert everywhere.min() < placed.uncertainty_mm < everywhere.max()
    assert placed.mm_per_px == pytest.approx(math.sqrt(WIDTH * HEIGHT / 8.86e6), rel=0.03)


def test_a_closed_line_is_longer_by_its_last_side() -> None:
    placed = from_corners(SEEN, WIDTH, HEIGHT)
    square = [(50.0, 50.0), (150.0, 50.0), (150.0, 150.0), (50.0, 150.0)]
    assert length_mm(placed, square).value == pytest.approx(300)
    assert length_mm(placed, square, closed=True).value == pytest.approx(400)
    opened = length_mm(placed, [*square, square[0]])
    # The first corner is one tap in the ring, and two in the line that ends where it began.
    assert 0 < length_mm(placed, square, closed=True).uncertainty < 1.5 * opened.uncertainty


def test_an_area_is_the_same_whichever_way_round() -> None:
    placed = from_corners(SEEN, WIDTH, HEIGHT)
    forth, back = area_mm2(placed, OUTLINE), area_mm2(placed, OUTLINE[::-1])
    assert forth.value == pytest.approx(back.value)
    assert forth.uncertainty == pytest.approx(back.uncertainty)


def test_a_verso_mirrors_x_and_nothing_else() -> None:
    told = mirrored([(10.0, 20.0), (297.0, 0.0)], WIDTH)
    assert told.tolist() == [[287.0, 20.0], [0.0, 0.0]]
    assert mirrored(told, WIDTH).tolist() == [[10.0, 20.0], [297.0, 0.0]]


CLOCKWISE = SEEN.tolist()
WRONG = {
    "three": (CLOCKWISE[:3], "Tap the four corners"),
    "crossed": ([CLOCKWISE[i] for i in (0, 2, 1, 3)], "edges between the corners cross"),
    "crossed otherwise": ([CLOCKWISE[i] for i in (0, 1, 3, 2)], "edges between the corners cross"),
    "anticlockwise": (CLOCKWISE[::-1], "anticlockwise"),
    "on a line": (
        [CLOCKWISE[0], [1965, 217], CLOCKWISE[1], CLOCKWISE[2]],
        "top right corner lies on a line",
    ),
    "inside": ([*CLOCKWISE[:3], [3000, 700]], "bottom left corner lies inside"),
    "too near": ([CLOCKWISE[0], [318, 246], *CLOCKWISE[2:]], "only 10 pixels apart"),
    "outside": ([[-4, 240], *CLOCKWISE[1:]], "top left corner lies outside the picture"),
    "nothing": ([[math.nan, 240], *CLOCKWISE[1:]], "Tap the four corners"),
}


@pytest.mark.parametrize("what", WRONG)
def test_it_says_what_is_wrong_with_four_corners(what: str) -> None:
    points, sentence = WRONG[what]
    with pytest.raises(WrongPoints, match=sentence) as refusal:
        from_corners(points, WIDTH, HEIGHT, picture_px=PICTURE)
    assert str(refusal.value).endswith(".")


def test_it_wants_a_size() -> None:
    with pytest.raises(WrongPoints, match="width and height"):
        from_corners(SEEN, 0, HEIGHT)


def test_it_notices_a_size_with_its_sides_exchanged() -> None:
    assert "exchanged" in from_corners(SEEN, HEIGHT, WIDTH).caution
    assert from_corners(SEEN, WIDTH, HEIGHT).caution == ""
    assert from_corners(SEEN, 200, 200).caution == ""


def test_it_says_what_is_wrong_with_a_line_or_an_outline() -> None:
    placed = from_corners(SEEN, WIDTH, HEIGHT)
    with pytest.raises(WrongPoints, match="two different places"):
        length_mm(placed, [(5, 5), (5, 5)])
    with pytest.raises(WrongPoints, match="three different corners"):
        area_mm2(placed, [(5, 5), (9, 5), (5, 5)])
    with pytest.raises(WrongPoints, match="crosses itself"):
        area_mm2(placed, [(0, 0), (50, 50), (50, 0), (0, 50)])


def test_a_tap_on_a_small_picture_misses_by_more() -> None:
    assert tap_error_px(0.25) == 8
    assert tap_error_px(1) == 2
    assert tap_error_px(16) == 0.5  # no edge of paper is sharper


def scale(**changed: float) -> Placed:
    return from_scale([(800, 2900), (1800, 2900)], 50.0, PICTURE, **changed)


def test_a_scale_gives_millimetres_along_the_picture() -> None:
    placed = scale()
    assert placed.mm_per_px == pytest.approx(0.05)
    assert mapped(placed.matrix, [(0, 0), (1000, 200)]).tolist() == [[0, 0], [50, 10]]
    assert mapped(scale(origin_px=(100.0, 40.0)).matrix, [(100, 40)]) == pytest.approx(0)


def test_a_scale_tapped_wrong_is_refused() -> None:
    with pytest.raises(WrongPoints, match="two ends"):
        from_scale([(1, 2)], 50, PICTURE)
    with pytest.raises(WrongPoints, match="only 4 pixels apart"):
        from_scale([(800, 900), (804, 900)], 50, PICTURE)
    with pytest.raises(WrongPoints, match="second end lies outside"):
        from_scale([(800, 900), (5000, 900)], 50, PICTURE)
    with pytest.raises(WrongPoints, match="length between"):
        from_scale([(800, 900), (1800, 900)], 0, PICTURE)


def test_without_tilt_a_length_is_as_sure_as_the_scale() -> None:
    placed = scale(tilt_deg=0.0, length_uncertainty_mm=0.1)
    length = length_mm(placed, [(100.0, 20.0), (150.0, 20.0)])
    tap = math.sqrt(2) * 2 * 0.05
    # The taps on the scale, those on the line as long as the scale, and the scale's own error.
    assert length.uncertainty == pytest.approx(math.sqrt(2 * tap**2 + 0.1**2), rel=1e-6)


def tilted(tilt_deg: float, about: float) -> np.ndarray:
    """Sheet mm to picture mm by a pinhole, tilted about the axis at ``about`` degrees."""
    width, height = PICTURE[0] * 0.05, PICTURE[1] * 0.05
    distance = 0.76 * width
    axis = np.array([math.cos(about), math.sin(about), 0.0]) * math.radians(tilt_deg)
    turn, _ = cv2.Rodrigues(axis)
    lens = np.diag([distance, distance, 1.0])
    plane = np.column_stack([turn[:, 0], turn[:, 1], [0, 0, distance]])
    middle = np.array([[1, 0, width / 2], [0, 1, height / 2], [0, 0, 1.0]])
    return middle @ lens @ plane @ np.linalg.inv(middle)


def test_the_cost_of_tilt_is_that_of_a_pinhole_camera() -> None:
    """1,500 cameras tilted by chance, calibrated on the scale, measuring elsewhere."""
    random = np.random.default_rng(3)
    placed = from_scale([(800, 2900), (1800, 2900)], 50.0, PICTURE, tap_px=1e-6, tilt_deg=3.0)
    ends = mapped(placed.matrix, [(800, 2900), (1800, 2900)])
    lines = {"beside": [(42.0, 142.0), (88.0, 142.0)], "far": [(150.0, 10.0), (190.0, 30.0)]}
    found: dict[str, list[float]] = {name: [] for name in lines}
    for _ in range(1500):
        one, two = random.normal(0, 3.0, 2)
        matrix = tilted(math.hypot(one, two), math.atan2(two, one))
        to_sheet = np.linalg.inv(matrix)
        a, b = mapped(to_sheet, ends)
        by_scale = 50 / np.linalg.norm(b - a)
        for name, line in lines.items():
            c, d = mapped(to_sheet, line)
            found[name].append(float(np.linalg.norm(d - c) * by_scale))
    told = {name: length_mm(placed, line).uncertainty for name, line in lines.items()}
    assert told["far"] == pytest.approx(np.std(found["far"]), rel=0.1)
    assert told["beside"] == pytest.approx(np.std(found["beside"]), rel=0.25)
    assert told["far"] > 5 * told["beside"]


def test_a_scale_says_what_tilt_costs() -> None:
    assert "tilt is not corrected" in scale().caution
    assert "tilted by 3°" in scale().caution


def spots(shape: tuple[int, int], places: np.ndarray, sigma: float) -> np.ndarray:
    """Soft spots at places in pixels with edges at whole numbers, on dark."""
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]] + 0.5
    plane = np.full(shape, 20.0)
    for x, y in places:
        plane += 200 * np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / (2 * sigma**2))
    return np.repeat(plane[:, :, None], 3, axis=2).round().astype(np.uint8)


def centre_of(pixels: np.ndarray, near: np.ndarray, reach: int) -> np.ndarray:
    """Centre of gravity about a place, same convention."""
    left, top = (int(value) - reach for value in near)
    part = pixels[top : top + 2 * reach, left : left + 2 * reach, 0].astype(float) - 20
    y, x = np.mgrid[0 : part.shape[0], 0 : part.shape[1]] + 0.5
    return np.array([(part * x).sum(), (part * y).sum()]) / part.sum() + (left, top)


@pytest.mark.parametrize("px_per_mm", [8.0, 4.0, 1.6])
def test_a_straightened_sheet_has_every_place_where_its_millimetres_are(px_per_mm: float) -> None:
    # A small sheet, seen at about 8 pixels a millimetre.
    seen = np.array([(61.0, 43.0), (858.0, 30.0), (893.0, 640.0), (40.0, 601.0)])
    matrix = from_corners(seen, 100.0, 70.0).matrix
    told = np.array([(20.0, 15.0), (81.3, 12.9), (50.0, 35.0), (77.7, 55.5), (18.0, 58.0)])
    picture = spots((690, 940), mapped(inverse(matrix), told), 14.0)
    sheet = rectify(picture, matrix, 100.0, 70.0, px_per_mm)
    assert isinstance(sheet, RectifiedSheet)
    assert sheet.pixels.shape == (round(70 * px_per_mm), round(100 * px_per_mm), 3)
    assert sheet.pixels.dtype == np.uint8
    for place in told * px_per_mm:
        found = centre_of(sheet.pixels, place, round(7 * px_per_mm))
        # The perspective itself shifts the middle of a spot by a little.
        assert np.abs(found - place).max() / px_per_mm < 0.04


def test_straightening_a_square_picture_at_its_own_scale_changes_nothing() -> None:
    picture = np.random.default_rng(2).integers(0, 255, (70, 100, 3), dtype=np.uint8)
    matrix = np.diag([0.1, 0.1, 1.0])
    assert np.array_equal(rectify(picture, matrix, 10.0, 7.0, 10.0).pixels, picture)


def test_what_the_photograph_does_not_show_is_neutral_grey() -> None:
    picture = np.full((70, 100, 3), 250, dtype=np.uint8)
    matrix = np.array([[0.1, 0, 2.0], [0, 0.1, 0.0], [0, 0, 1]])
    sheet = rectify(picture, matrix, 12.0, 7.0, 10.0).pixels
    assert (sheet[:, :18] == 128).all() and (sheet[:, 22:] == 250).all()


def test_fine_lines_do_not_turn_into_false_ones() -> None:
    # Lines of 0.21 mm at 20 px a mm, straightened to 4 px a mm, which cannot hold them.
    columns = np.arange(2000)
    lines = (128 + 100 * np.sin(2 * np.pi * columns / 4.2)).astype(np.uint8)
    picture = np.repeat(np.repeat(lines[None, :, None], 400, axis=0), 3, axis=2)
    sheet = rectify(picture, np.diag([0.05, 0.05, 1.0]), 100.0, 20.0, 4.0)
    # In one of the picture's rows they swing by 71 in standard deviation.
    assert sheet.pixels.std() < 2


def test_a_sheet_of_too_many_pixels_is_refused() -> None:
    with pytest.raises(WrongPoints, match="Choose fewer pixels a millimetre"):
        rectify(np.zeros((50, 50, 3), np.uint8), np.diag([0.1, 0.1, 1.0]), 900.0, 1200.0, 20.0)
