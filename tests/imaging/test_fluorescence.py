"""The glow under ultraviolet: against the emission and quenching that the renderer keeps."""

import cv2
import numpy as np
import pytest

from survey.demo.sheet.geometry import blob
from survey.demo.sheet.recipe import Drawing, Mark, SheetRecipe
from survey.demo.sheet.render import build
from survey.demo.sheet.structure import Sheet
from survey.imaging.fluorescence import GlowRegion, Ultraviolet, read_ultraviolet
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.rectified import NotReadable
from tests.imaging.lit import lit

PX_PER_MM = 5.0
SIZE = (84.0, 66.0)
FINE = ("etching", "engraving", "pen-brown-ink", "graphite")


def sheet_with(
    *marks: Mark, medium: str | None = None, seed: int = 4, brightener: float = 0.0
) -> Sheet:
    drawing = Drawing("landscape", medium, (6, 6, SIZE[0] - 6, SIZE[1] - 6)) if medium else None
    recipe = SheetRecipe(seed, *SIZE, drawing=drawing, marks=marks, brightener=brightener)
    return build(recipe, PX_PER_MM)


def read(sheet: Sheet) -> Ultraviolet:
    return read_ultraviolet(lit(sheet, "ultraviolet"), lit(sheet, "normal"))


def spot(x: float, y: float, radius: float = 4.0) -> tuple[tuple[float, float], ...]:
    return blob(np.random.default_rng(1), (x, y), radius, 0.15)


def inside(region: GlowRegion, sheet: Sheet) -> np.ndarray:
    drawn = np.zeros(sheet.shape, dtype=np.uint8)
    corners = np.round(np.array(region.points) * PX_PER_MM - 0.5).astype(np.int32)
    cv2.fillPoly(drawn, [corners], 1)
    return drawn > 0


def true_ratio(sheet: Sheet, region: GlowRegion) -> float:
    """Mean glow inside a region over that of the whole sheet, from the maps."""
    glow = (sheet.emission["recto"] * np.exp(-sheet.quench["recto"])[:, :, None]).mean(axis=2)
    return float(np.median(glow[inside(region, sheet)]) / np.median(glow))


@pytest.mark.parametrize("term", ["oil-stain", "adhesive-stain"])
def test_what_glows_more_is_found_with_its_place_and_ratio(term: str) -> None:
    sheet = sheet_with(Mark(term, spot(42, 12), strength=0.8), medium="etching")
    read_out = read(sheet)
    assert len(read_out.regions) == 1
    region = read_out.regions[0]
    xs, ys = zip(*region.points, strict=True)
    assert min(xs) < 42 < max(xs) and min(ys) < 12 < max(ys)
    assert region.ratio > 1 and region.words.startswith("glows more")
    assert abs(region.ratio - true_ratio(sheet, region)) < max(4 * region.uncertainty, 0.15)
    assert 30 < region.area_mm2 < 120


def test_a_stain_that_takes_the_glow_is_found_on_bare_paper() -> None:
    sheet = sheet_with(Mark("local-stain", spot(30, 40, 5), strength=0.9))
    regions = read(sheet).regions
    assert regions and regions[0].ratio < 0.9
    assert regions[0].seen_by_day
    assert regions[0].words.startswith("glows less")


@pytest.mark.parametrize("medium", FINE)
def test_gaps_between_fine_lines_are_not_proposed(medium: str) -> None:
    assert read(sheet_with(medium=medium)).regions == ()


def test_hits_and_false_regions_over_random_sheets() -> None:
    """Glue on finely drawn sheets: nearly all found, hardly anything else proposed."""
    found = wrong = 0
    for seed in range(6):
        random = np.random.default_rng(seed)
        x, y = random.uniform(15, SIZE[0] - 15), random.uniform(12, SIZE[1] - 12)
        mark = Mark("adhesive-stain", spot(x, y, 4.5), strength=float(random.uniform(0.5, 1)))
        sheet = sheet_with(mark, medium=FINE[seed % len(FINE)], seed=seed)
        ratios = [true_ratio(sheet, region) for region in read(sheet).regions]
        found += any(ratio > 1.05 for ratio in ratios)
        wrong += sum(ratio <= 1.05 for ratio in ratios)
    assert found >= 5
    assert wrong <= 1


@pytest.mark.parametrize(
    ("brightener", "responses"),
    [(0.0, ("pale bluish", "dull, yellowish")), (0.6, ("bright blue-white", "blue-white"))],
)
def test_a_brightener_is_told_from_plain_paper(
    brightener: float, responses: tuple[str, ...]
) -> None:
    read_out = read(sheet_with(medium="etching", brightener=brightener))
    assert read_out.response in responses
    assert ("brightener" in read_out.sentence) == (brightener > 0 or "without" in read_out.sentence)
    assert sum(read_out.shares) == pytest.approx(1)
    assert 0 < read_out.uncertainty[2] < 0.03
    assert any("white balance" in sentence for sentence in read_out.sentences)


def test_without_normal_light_only_what_glows_more_is_proposed() -> None:
    marks = (
        Mark("local-stain", spot(30, 40, 5), strength=0.9),
        Mark("oil-stain", spot(60, 40, 5), strength=0.9),
    )
    read_out = read_ultraviolet(lit(sheet_with(*marks), "ultraviolet"))
    assert read_out.regions and all(region.ratio > 1 for region in read_out.regions)
    assert all(region.seen_by_day is None for region in read_out.regions)
    assert any("ink cannot be told from stain" in sentence for sentence in read_out.sentences)


def test_a_dark_photograph_and_one_of_another_sheet_are_refused() -> None:
    sheet = sheet_with()
    ultraviolet, normal = lit(sheet, "ultraviolet"), lit(sheet, "normal")
    dark = RectifiedSheet(ultraviolet.pixels // 32, PX_PER_MM, *SIZE)
    with pytest.raises(NotReadable, match="ultraviolet is all dark"):
        read_ultraviolet(dark, normal)
    with pytest.raises(NotReadable, match="different size"):
        read_ultraviolet(ultraviolet, RectifiedSheet(normal.pixels, PX_PER_MM, 74.0, 66.0))
