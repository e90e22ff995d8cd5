"""Relief from raking light: against the height field that the renderer keeps."""

import itertools
from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.recipe import Drawing, Mark, SheetRecipe
from survey.demo.sheet.render import RAKING_ELEVATION_DEG, build
from survey.demo.sheet.structure import Sheet
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.rectified import NotReadable
from survey.imaging.relief import Relief, read_relief
from survey.imaging.relief_marks import ReliefMark, resampled
from tests.imaging.lit import degrees_between, lit, shifted, true_normals

ROUND = (0.0, 60.0, 120.0, 180.0, 240.0, 300.0)
SIZE = (80.0, 64.0)
CREASE = ((22.0, 48.0), (30.0, 54.0), (40.0, 57.0))
INCISED = rectangle(16, 6, 74, 44)

# What each photograph of a lamp 400 mm away shows.
Raking = list[tuple[RectifiedSheet, float]]


def raking(sheet: Sheet, azimuths: Sequence[float] = ROUND) -> Raking:
    return [(lit(sheet, "raking", azimuth, lamp_mm=400), azimuth) for azimuth in azimuths]


def recipe(*marks: Mark, medium: str | None = "pen-brown-ink", seed: int = 21) -> SheetRecipe:
    box = (10.0, 10.0, SIZE[0] - 10, SIZE[1] - 10)
    drawing = Drawing("landscape", medium, box) if medium else None
    return SheetRecipe(seed, *SIZE, drawing=drawing, marks=marks)


@cache
def creased() -> tuple[Sheet, Raking, RectifiedSheet, Relief]:
    """A pen drawing over ruled furrows, and a crease; read with everything that helps."""
    sheet = build(recipe(Mark("incised-lines", INCISED), Mark("handling-crease", CREASE)), 6.0)
    photographs, normal = raking(sheet), lit(sheet, "normal")
    return sheet, photographs, normal, read_relief(photographs, normal, RAKING_ELEVATION_DEG)


def off(relief: Relief, sheet: Sheet) -> tuple[float, float]:
    """Median and 95 % error of the normals, degrees."""
    assert relief.normals is not None
    apart = degrees_between(relief.normals, true_normals(sheet))
    return float(np.median(apart)), float(np.percentile(apart, 95))


def near(mark: ReliefMark, line: Sequence[tuple[float, float]], within_mm: float = 1.0) -> float:
    """Share of the mark that lies along ``line``."""
    tree = cKDTree(resampled(np.array(line), 0.3))
    return float((tree.query(resampled(np.array(mark.points), 0.5))[0] < within_mm).mean())


def test_normals_are_right_to_a_fraction_of_a_degree() -> None:
    sheet, _, _, relief = creased()
    flat = np.zeros((*sheet.shape, 3))
    flat[:, :, 2] = 1
    guess = np.percentile(degrees_between(flat, true_normals(sheet)), 95)
    median, most = off(relief, sheet)
    assert median < 0.4
    assert most < 0.4 * guess  # Far better than to call the sheet flat.


@pytest.mark.parametrize("azimuths", [(45.0, 135.0, 270.0), (0.0, 90.0, 180.0, 270.0)])
def test_three_or_four_lamps_do_with_or_without_the_normal_light(
    azimuths: tuple[float, ...],
) -> None:
    sheet, _, normal, _ = creased()
    photographs = raking(sheet, azimuths)
    for beside in (normal, None):
        assert off(read_relief(photographs, beside, RAKING_ELEVATION_DEG), sheet)[0] < 0.5


def test_the_shaded_picture_is_free_of_the_drawing() -> None:
    sheet, photographs, _, relief = creased()
    ink = sheet.media["recto"].mean(axis=2)[24:-24, 24:-24]

    def alike(picture: np.ndarray) -> float:
        return abs(float(np.corrcoef(ink.ravel(), picture[24:-24, 24:-24].ravel())[0, 1]))

    assert relief.shaded is not None and relief.shaded.dtype == np.uint8
    assert alike(photographs[0][0].pixels.mean(axis=2)) > 0.6
    assert alike(relief.shaded) < 0.05
    assert abs(float(np.median(relief.shaded)) - 128) < 4


def test_the_depth_map_orders_a_raised_crease_above_its_surround() -> None:
    _, _, _, relief = creased()
    assert relief.depth is not None
    assert any("order only" in sentence for sentence in relief.sentences)
    row, column = (round(value * 6) for value in (54.0, 30.0))
    on, beside = relief.depth[row, column], relief.depth[row + 36, column]
    assert int(on) > int(beside) + 25


def test_incised_lines_are_found_that_normal_light_does_not_show() -> None:
    _, _, normal, relief = creased()
    left, top, right, bottom = INCISED[0] + INCISED[2]
    diagonals = [((left, top), (right, bottom)), ((right, top), (left, bottom))]
    for diagonal in diagonals:
        along = [mark for mark in relief.marks if near(mark, diagonal) > 0.9]
        assert sum(mark.length_mm for mark in along) > 0.6 * np.hypot(right - left, bottom - top)
        assert all(mark.kind == "furrow" and not mark.drawn for mark in along[:1])
    # By normal light the furrow is no darker than the grain of the paper beside it.
    flat = normal.pixels.mean(axis=2)
    line = (resampled(np.array(diagonals[0]), 0.2) * 6).astype(int)
    on = flat[line[:, 1], line[:, 0]]
    beside = flat[line[:, 1] + 6, line[:, 0]]
    assert abs(float(np.median(on) - np.median(beside))) < np.std(beside)


def test_a_crease_is_found_and_said_to_be_raised() -> None:
    _, _, _, relief = creased()
    along = [mark for mark in relief.marks if near(mark, CREASE, 1.5) > 0.8]
    assert along and along[0].kind in ("roof", "ridge")
    assert along[0].length_mm > 10


def test_the_same_marks_are_not_found_on_a_sheet_without_them() -> None:
    sheet = build(recipe(medium="engraving"), 6.0)
    relief = read_relief(raking(sheet), lit(sheet, "normal"), RAKING_ELEVATION_DEG)
    plain = [mark for mark in relief.marks if not mark.drawn]
    assert sum(mark.length_mm for mark in plain) < 40
    assert all(mark.strength < 10 for mark in plain)


def test_a_plate_mark_is_proposed_as_one_outline() -> None:
    outline = rectangle(12, 10, 68, 54)
    sheet = build(recipe(Mark("plate-mark", outline), medium="etching"), 6.0)
    first = read_relief(raking(sheet), lit(sheet, "normal"), RAKING_ELEVATION_DEG).marks[0]
    assert first.kind == "plate"
    for corner in outline:
        assert min(np.hypot(*np.subtract(corner, point)) for point in first.points) < 1.5


def test_without_the_height_of_the_lamps_it_says_what_it_assumes() -> None:
    _, photographs, normal, relief = creased()
    guessed = read_relief(photographs, normal)
    assert guessed.assumed and not relief.assumed
    assert guessed.elevation_deg == 15
    assert any("15° above the sheet is assumed" in sentence for sentence in guessed.sentences)
    assert guessed.normals is not None and relief.normals is not None
    # The slopes are those of the right height but for one factor.
    ratio = np.tan(np.radians(15)) / np.tan(np.radians(RAKING_ELEVATION_DEG))
    one, other = (field[:, :, 0] / field[:, :, 2] for field in (guessed.normals, relief.normals))
    assert np.polyfit(other.ravel(), one.ravel(), 1)[0] == pytest.approx(ratio, rel=0.05)


def test_it_says_when_the_camera_moved_and_sets_it_right() -> None:
    sheet, photographs, normal, relief = creased()
    assert all(moved is not None and moved < 0.1 for moved in relief.moved_mm)
    assert not any("moved" in sentence for sentence in relief.sentences)
    moved = [(shifted(photographs[0][0], 4, -3), 0.0), *photographs[1:]]
    again = read_relief(moved, normal, RAKING_ELEVATION_DEG)
    assert again.moved_mm[0] == pytest.approx(5 / 6, abs=0.05)
    said = [sentence for sentence in again.sentences if "moved" in sentence]
    assert len(said) == 1 and "0.8 mm" in said[0] and "at 0°" in said[0]
    assert off(again, sheet)[0] < 0.4


def test_two_lamps_give_only_a_difference() -> None:
    _, photographs, normal, _ = creased()
    relief = read_relief(photographs[:2], normal)
    assert relief.difference is not None
    assert relief.normals is None and relief.shaded is None and relief.depth is None
    assert relief.marks == ()
    assert any("third place" in sentence for sentence in relief.sentences)
    assert abs(float(np.median(relief.difference)) - 128) < 4


def blank(level: int, width_mm: float = 60.0) -> RectifiedSheet:
    pixels = np.full((200, round(width_mm * 4), 3), level, dtype=np.uint8)
    return RectifiedSheet(pixels, 4.0, width_mm, 50.0)


@pytest.mark.parametrize(
    ("photographs", "words"),
    [
        ([], "at least two directions"),
        ([(blank(128), 0)], "at least two directions"),
        ([(blank(128), 10), (blank(128), 18)], "nearly the same place"),
        ([(blank(128), 0), (blank(128), 8), (blank(128), 12)], "too nearly in one direction"),
        ([(blank(128), 0), (blank(128), 180), (blank(128), 180)], "along one line"),
        ([(blank(128), 0), (blank(128, 70), 90)], "different size"),
        ([(blank(128), 0), (blank(3), 90)], "all dark"),
        ([(blank(128), 0), (blank(255), 90)], "overexposed"),
        ([(blank(128), 0), (blank(128), float("nan"))], "where its light came from"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(
    photographs: list[tuple[RectifiedSheet, float]], words: str
) -> None:
    with pytest.raises(NotReadable, match=words) as refused:
        read_relief(photographs)
    assert str(refused.value).endswith(".")


def test_a_lamp_that_does_not_rake_is_refused() -> None:
    with pytest.raises(NotReadable, match="does not rake"):
        read_relief([(blank(128), 0), (blank(128), 120), (blank(128), 240)], None, 90)


def test_a_featureless_sheet_gives_finite_pictures_and_no_marks() -> None:
    relief = read_relief([(blank(128), azimuth) for azimuth in (0, 120, 240)])
    assert relief.normals is not None and np.isfinite(relief.normals).all()
    assert relief.marks == ()
    for one, other in itertools.pairwise((relief.shaded, relief.depth)):
        assert one is not None and other is not None and one.shape == other.shape
