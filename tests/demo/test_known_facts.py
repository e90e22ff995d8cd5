"""What every paper conservator knows of the five lights, seen in the finished pictures."""

import numpy as np
import pytest

from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.recipe import Mark, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of
from tests.demo.sheets import EXACT, luminance, on_sheet, pixel_box, plain, strength_at

PX_PER_MM = 6.0


def means(
    recipe: SheetRecipe, light: str, side: str = "recto", **how: float
) -> tuple[float, float]:
    """Mean luminance within the recipe's one mark, and of the bare paper right of it."""
    sheet = build(recipe, PX_PER_MM)
    pixels = luminance(render(sheet, light, side=side, camera=EXACT, **how))
    truth = truth_of(sheet, side, EXACT)
    (region,) = (one for one in truth["regions"] if one["term"] == recipe.marks[0].term)
    marked = pixel_box(truth, region["seen_at_mm"])
    bare = pixel_box(truth, ((85, 40), (112, 90)))
    return float(pixels[marked].mean()), float(pixels[bare].mean())


def marked(term: str, side: str = "recto", strength: float = 0.8) -> SheetRecipe:
    # Told from the verso, so that it lies at the same place of the recto.
    left, right = (20.0, 50.0) if side == "recto" else (70.0, 100.0)
    mark = Mark(term, rectangle(left, 20, right, 45), side=side, strength=strength)
    return plain(marks=(mark,))


def test_a_hinge_on_the_verso_reads_dark_in_transmitted_light() -> None:
    hinge, paper = means(marked("hinge", "verso"), "transmitted")
    assert hinge < 0.75 * paper


def test_a_skinned_place_on_the_verso_reads_light_in_transmitted_light() -> None:
    skinned, paper = means(marked("skinned-area", "verso"), "transmitted")
    assert skinned > 1.15 * paper


def test_neither_hardly_shows_on_the_recto_in_normal_light() -> None:
    for term in ("hinge", "skinned-area"):
        place, paper = means(marked(term, "verso"), "normal")
        assert place == pytest.approx(paper, rel=0.03)


def test_a_hinge_lies_mirrored_on_the_verso() -> None:
    sheet = build(marked("hinge", "verso"), PX_PER_MM)
    recto = luminance(render(sheet, "transmitted", side="recto", camera=EXACT))
    verso = luminance(render(sheet, "transmitted", side="verso", camera=EXACT))
    from_recto = pixel_box(truth_of(sheet, "recto", EXACT), rectangle(21, 21, 49, 44))
    from_verso = pixel_box(truth_of(sheet, "verso", EXACT), rectangle(71, 21, 99, 44))
    elsewhere = pixel_box(truth_of(sheet, "verso", EXACT), rectangle(21, 21, 49, 44))
    assert recto[from_recto].mean() == pytest.approx(verso[from_verso].mean(), rel=0.01)
    assert verso[elsewhere].mean() > 1.2 * verso[from_verso].mean()


def test_the_edge_of_a_tideline_glows_under_ultraviolet() -> None:
    recipe = plain(marks=(Mark("tideline", rectangle(0, 0, 60, 100), strength=0.8),))
    sheet = build(recipe, PX_PER_MM)
    truth = truth_of(sheet, "recto", EXACT)
    edge = pixel_box(truth, rectangle(58.2, 20, 60, 80))
    paper = pixel_box(truth, rectangle(80, 20, 110, 80))
    glow = luminance(render(sheet, "ultraviolet", camera=EXACT))
    day = luminance(render(sheet, "normal", camera=EXACT))
    assert glow[edge].mean() > 1.3 * glow[paper].mean()
    assert day[edge].mean() < 0.95 * day[paper].mean()


def test_foxing_is_dark_by_day_and_darker_under_ultraviolet() -> None:
    sheet = build(marked("foxing"), PX_PER_MM)
    truth = truth_of(sheet, "recto", EXACT)
    spots = pixel_box(truth, rectangle(20, 20, 50, 45))
    paper = pixel_box(truth, rectangle(85, 40, 112, 90))
    deepest = {}
    for light in ("normal", "ultraviolet"):
        seen = luminance(render(sheet, light, camera=EXACT))
        deepest[light] = np.percentile(seen[spots], 2) / seen[paper].mean()
    assert deepest["normal"] < 0.8
    assert deepest["ultraviolet"] < deepest["normal"]


def test_brightener_makes_paper_blue_white_under_ultraviolet() -> None:
    def glow(brightener: float) -> np.ndarray:
        sheet = build(plain(make="wove", brightener=brightener), 3.0)
        seen = render(sheet, "ultraviolet", camera=EXACT)
        truth = truth_of(sheet, "recto", EXACT)
        return seen[pixel_box(truth, rectangle(20, 20, 100, 80))].mean(axis=(0, 1))

    plain_paper, brightened = glow(0.0), glow(0.7)
    assert brightened[2] > plain_paper[2] + 40
    assert brightened[2] > brightened[0]


def test_varnish_shines_in_specular_light() -> None:
    varnished, paper = means(marked("varnish"), "specular", azimuth_deg=0)
    assert varnished > 1.5 * paper


def test_laid_lines_stand_out_across_the_light_and_all_but_vanish_along_it() -> None:
    sheet = build(plain(chain_angle_deg=0.0, laid_per_cm=10.0), PX_PER_MM)
    across = on_sheet(sheet, render(sheet, "raking", azimuth_deg=0, camera=EXACT))
    along = on_sheet(sheet, render(sheet, "raking", azimuth_deg=90, camera=EXACT))
    stood_out = strength_at(across, PX_PER_MM, 1.0, axis=0)
    vanished = strength_at(along, PX_PER_MM, 1.0, axis=0)
    assert stood_out > 0.05
    assert stood_out > 5 * vanished


def test_chain_lines_stand_out_across_the_light_and_all_but_vanish_along_it() -> None:
    sheet = build(
        plain(width_mm=200.0, chain_angle_deg=0.0, chain_mm=10.0, chain_shadow=0.0), PX_PER_MM
    )

    def chain_strength(azimuth: float) -> float:
        seen = on_sheet(sheet, render(sheet, "raking", azimuth_deg=azimuth, camera=EXACT))
        # The narrow groove of a chain line is told by its overtones.
        tones = [strength_at(seen, PX_PER_MM, n / 10.0, axis=1) for n in (4, 5, 6, 7)]
        return float(np.hypot.reduce(tones))

    assert chain_strength(90) > 5 * chain_strength(0)


def test_both_kinds_of_line_show_in_transmitted_light() -> None:
    sheet = build(plain(chain_angle_deg=0.0, laid_per_cm=10.0), PX_PER_MM)
    seen = on_sheet(sheet, render(sheet, "transmitted", camera=EXACT))
    assert strength_at(seen, PX_PER_MM, 1.0, axis=0) > 0.02
    wove = build(plain(make="wove"), PX_PER_MM)
    bare = on_sheet(wove, render(wove, "transmitted", camera=EXACT))
    assert strength_at(bare, PX_PER_MM, 1.0, axis=0) < 0.01


def test_incised_lines_show_in_raking_light_only() -> None:
    """Both pictures less those of the same sheet without the lines: what is left is the lines."""
    lines = Mark("incised-lines", rectangle(20, 20, 100, 80), strength=0.8)

    def left_over(light: str) -> float:
        seen = [
            on_sheet(sheet, render(sheet, light, azimuth_deg=315, camera=EXACT))
            for sheet in (build(plain(marks=marks), PX_PER_MM) for marks in ((lines,), ()))
        ]
        return float(np.percentile(np.abs(seen[0] - seen[1]) / seen[1].mean(), 98))

    assert left_over("raking") > 0.2
    assert left_over("normal") < 0.02
