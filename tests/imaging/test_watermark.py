"""Watermarks brought out: against the wires that the renderer sewed."""

from functools import cache

import cv2
import numpy as np
import pytest
from scipy.ndimage import binary_dilation

from survey.demo.sheet.pen import MEDIA, Strokes
from survey.demo.sheet.recipe import TONES, Drawing, SheetRecipe, Watermark
from survey.demo.sheet.render import build
from survey.demo.sheet.structure import Sheet
from survey.demo.sheet.subjects import SUBJECTS
from survey.demo.sheet.watermarks import MOTIFS, wires
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.rectified import NotReadable
from survey.imaging.watermark import enhanced
from tests.imaging.lit import as_sheet, lit

PX_PER_MM = 5.0


def drawn_over(seed: int) -> Sheet:
    """A random sheet with a random drawing over its watermark."""
    random = np.random.default_rng(seed)
    width, height = float(random.integers(80, 100)), float(random.integers(76, 90))
    motif = Watermark(str(random.choice(list(MOTIFS))), width / 2, height / 2, 36.0)
    drawing = Drawing(
        str(random.choice(list(SUBJECTS))),
        str(random.choice(list(MEDIA))),
        (8.0, 8.0, width - 8, height - 8),
    )
    recipe = SheetRecipe(
        seed,
        width,
        height,
        make="laid" if random.random() < 0.75 else "wove",
        tone=str(random.choice(list(TONES))),
        laid_per_cm=float(random.uniform(8, 12)),
        watermark=motif,
        drawing=drawing,
    )
    return build(recipe, PX_PER_MM)


def plainness(picture: np.ndarray, sheet: Sheet) -> float:
    """How far the wires stand out from the paper about them, in standard deviations of it."""
    assert sheet.recipe.watermark is not None
    thin, broad = (Strokes(sheet.shape, PX_PER_MM) for _ in range(2))
    for wire in wires(sheet.recipe.watermark):
        thin.add(wire, 0.6)
        broad.add(wire, 4.0)
    on = thin.laid() > 0.6
    beside = (broad.laid() > 0.3) & ~binary_dilation(on, iterations=3)
    values = picture.astype(float)
    return float((np.median(values[on]) - np.median(values[beside])) / values[beside].std())


@cache
def lettered() -> tuple[Sheet, RectifiedSheet, RectifiedSheet]:
    """A letter in dark ink over a bell."""
    recipe = SheetRecipe(
        9,
        90.0,
        80.0,
        watermark=Watermark("bell", 45, 40, 44),
        drawing=Drawing("letter", "pen-brown-ink", (6, 6, 84, 74)),
    )
    sheet = build(recipe, PX_PER_MM)
    return sheet, lit(sheet, "transmitted"), lit(sheet, "normal")


def moved(picture: RectifiedSheet, sheet: Sheet, whole_mm: float, here_mm: float) -> RectifiedSheet:
    """As the sheet lay a little elsewhere, and otherwise cockled."""
    rows, columns = sheet.shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    right = whole_mm + here_mm * np.sin(x / columns * 7 + 1) * np.cos(y / rows * 5)
    down = -0.6 * whole_mm + here_mm * np.cos(x / columns * 6) * np.sin(y / rows * 6 + 2)
    x, y = ((at + PX_PER_MM * by).astype(np.float32) for at, by in ((x, right), (y, down)))
    pixels = cv2.remap(picture.pixels, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return as_sheet(np.asarray(pixels, dtype=np.uint8), sheet)


def test_watermarks_stand_out_more_than_in_the_photograph_itself() -> None:
    better = []
    for seed in range(6):
        sheet = drawn_over(seed)
        transmitted = lit(sheet, "transmitted")
        picture = enhanced(transmitted, lit(sheet, "normal"))
        assert picture.dtype == np.uint8 and picture.shape == sheet.shape
        raw = transmitted.pixels[:, :, 1]
        better.append(plainness(picture, sheet) / plainness(raw, sheet))
    assert min(better) > 1
    assert np.median(better) > 1.5


def test_the_drawing_is_gone() -> None:
    sheet, transmitted, normal = lettered()
    ink = sheet.media["recto"].mean(axis=2)

    def alike(picture: np.ndarray) -> float:
        return abs(float(np.corrcoef(ink.ravel(), picture.ravel())[0, 1]))

    assert alike(transmitted.pixels[:, :, 1]) > 0.5
    assert alike(enhanced(transmitted, None)) > 0.3
    assert alike(enhanced(transmitted, normal)) < 0.1


@pytest.mark.parametrize(("whole_mm", "here_mm"), [(0.5, 0.0), (0.0, 0.25)])
def test_a_photograph_that_lies_a_little_off_leaves_no_double_edges(
    whole_mm: float, here_mm: float
) -> None:
    sheet, transmitted, normal = lettered()
    best = plainness(enhanced(transmitted, normal), sheet)
    again = plainness(enhanced(transmitted, moved(normal, sheet, whole_mm, here_mm)), sheet)
    assert plainness(transmitted.pixels[:, :, 1], sheet) < 0.6 * best
    assert again > 0.8 * best


def test_it_turns_left_and_right_about_on_request() -> None:
    _, transmitted, normal = lettered()
    np.testing.assert_array_equal(
        enhanced(transmitted, normal, mirrored=True), enhanced(transmitted, normal)[:, ::-1]
    )


def test_bare_paper_is_neutral_grey() -> None:
    _, transmitted, normal = lettered()
    assert abs(float(np.median(enhanced(transmitted, normal))) - 128) < 6


def test_sheets_of_different_size_and_dark_ones_are_refused() -> None:
    _, transmitted, normal = lettered()
    with pytest.raises(NotReadable, match="different size"):
        enhanced(transmitted, RectifiedSheet(normal.pixels, 5.0, 70.0, 80.0))
    dark = RectifiedSheet(transmitted.pixels // 64, 5.0, 90.0, 80.0)
    with pytest.raises(NotReadable, match="transmitted light is all dark"):
        enhanced(dark, normal)
