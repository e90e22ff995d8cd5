"""The truth beside a picture, against the picture itself."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from survey.demo.sheet.camera import SCALE_MM, Camera, held_by_hand, mapped
from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of
from tests.demo.sheets import EXACT, luminance, on_sheet, plain

PX_PER_MM = 5.0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chain_lines_lie_where_the_truth_says(seed: int) -> None:
    recipe = plain(seed=seed, width_mm=220.0, chain_mm=25.0, chain_jitter_mm=0.7, chain_shadow=0.3)
    sheet = build(recipe, PX_PER_MM)
    inset = 6.0
    seen = on_sheet(sheet, render(sheet, "transmitted", camera=EXACT), inset)
    profile = gaussian_filter1d(seen.mean(axis=0), 1.2)
    profile = profile - gaussian_filter1d(profile, 4 * PX_PER_MM)
    found, _ = find_peaks(profile, height=0.45 * profile.max(), distance=12 * PX_PER_MM)
    told = truth_of(sheet, "recto", EXACT)
    # The running mean knows nothing beyond the ends of the profile.
    sure = (inset + 5, recipe.width_mm - inset - 5)
    found_mm = [x for x in inset + (found + 0.5) / PX_PER_MM if sure[0] < x < sure[1]]
    within = [x for x in told["chain_offsets_mm"] if sure[0] < x < sure[1]]
    assert len(found_mm) == len(within) > 5
    assert found_mm == pytest.approx(within, abs=0.3)
    assert told["chain_intervals_mm"] == pytest.approx(
        [b - a for a, b in pairwise(told["chain_offsets_mm"])]
    )


@pytest.mark.parametrize("per_cm", [8.4, 9.7, 11.2])
def test_laid_lines_are_as_dense_as_the_truth_says(per_cm: float) -> None:
    sheet = build(plain(height_mm=150.0, laid_per_cm=per_cm), PX_PER_MM)
    seen = on_sheet(sheet, render(sheet, "transmitted", camera=EXACT))
    column = seen.mean(axis=1)
    column = (column - column.mean()) * np.hanning(len(column))
    # Zeros behind the column: the spectrum is read between its own steps.
    spectrum = np.abs(np.fft.rfft(column, 16 * len(column)))
    frequency = np.fft.rfftfreq(16 * len(column), 1 / PX_PER_MM)
    band = (frequency > 0.6) & (frequency < 1.5)
    measured = 10 * frequency[band][int(np.argmax(spectrum[band]))]
    assert measured == pytest.approx(per_cm, rel=0.01)


def bar_ends(pixels: np.ndarray, truth: dict) -> list[tuple[float, float]]:
    """Where the black bar of the scale begins and ends, found in the picture: mm on the sheet.

    Walks along the line the truth names and takes the half-way crossings from white to black.
    """
    seen = luminance(pixels)
    to_mm = np.array(truth["homography"]).reshape(3, 3)
    to_pixels = np.linalg.inv(to_mm)
    (x0, y0), (x1, _) = truth["scale_mm"]
    fine = np.arange(x0 - 2, x1 + 2, 0.02)
    # 0.17 mm down: the middle of the thin bar that joins all blocks.
    places = [mapped(to_pixels, x, y0 + 0.17) for x in fine]
    values = np.array([seen[int(y), int(x)] for x, y in places])
    dark = np.flatnonzero(values < (values.max() + values.min()) / 2)
    ends = (places[dark[0]], places[dark[-1]])
    return [mapped(to_mm, *end) for end in ends]


@pytest.mark.parametrize("side", ["recto", "verso"])
@pytest.mark.parametrize("light", ["normal", "raking", "transmitted", "ultraviolet"])
@pytest.mark.parametrize("tilt", [0.0, 0.05])
def test_the_homography_takes_the_ends_of_the_scale_to_their_millimetres(
    side: str, light: str, tilt: float
) -> None:
    # A width that is no whole number of pixels: the mirrored verso must come out as well.
    sheet = build(plain(width_mm=121.13), 8.0)
    held = held_by_hand(stream(3, "hands"), tilt) if tilt else Camera()
    camera = Camera(held.margin_mm, held.foot_mm, held.insets, blur_px=0.3, noise=0, unevenness=0)
    truth = truth_of(sheet, side, camera)
    pixels = render(sheet, light, side=side, camera=camera)
    start, end = bar_ends(pixels, truth)
    assert start == pytest.approx(truth["scale_mm"][0], abs=0.25)
    assert end == pytest.approx(truth["scale_mm"][1], abs=0.25)
    assert end[0] - start[0] == pytest.approx(SCALE_MM, abs=0.3)


@pytest.mark.parametrize("side", ["recto", "verso"])
@pytest.mark.parametrize("tilt", [0.0, 0.05])
def test_the_homography_takes_the_corners_of_the_sheet_to_their_millimetres(
    side: str, tilt: float
) -> None:
    sheet = build(plain(width_mm=121.13), 6.0)
    held = held_by_hand(stream(4, "hands"), tilt) if tilt else Camera()
    truth = truth_of(sheet, side, held)
    seen = luminance(render(sheet, "transmitted", side=side, camera=held))
    to_pixels = np.linalg.inv(np.array(truth["homography"]).reshape(3, 3))
    w, h = truth["sheet_mm"]
    for x, y, inwards in ((0, 50, 1), (w, 50, -1)):
        just_in, just_out = (mapped(to_pixels, x + d * inwards, y) for d in (0.5, -0.5))
        assert seen[int(just_in[1]), int(just_in[0])] > 5 * seen[int(just_out[1]), int(just_out[0])]
    for x, y, inwards in ((60, 0, 1), (60, h, -1)):
        just_in, just_out = (mapped(to_pixels, x, y + d * inwards) for d in (0.5, -0.5))
        assert seen[int(just_in[1]), int(just_in[0])] > 5 * seen[int(just_out[1]), int(just_out[0])]


def test_the_truth_tells_regions_on_both_sides() -> None:
    hinge = Mark("hinge", rectangle(10, 5, 40, 17), side="verso")
    sheet = build(plain(marks=(hinge,)), 2.0)
    told = {
        side: next(one for one in truth_of(sheet, side)["regions"] if one["term"] == "hinge")
        for side in ("recto", "verso")
    }
    assert told["verso"]["seen_at_mm"] == hinge.points
    assert told["recto"]["outline_mm"] == hinge.points
    assert sorted(told["recto"]["seen_at_mm"])[0] == (120 - 40, 5)


def test_wove_paper_has_no_lines_to_tell_of() -> None:
    truth = truth_of(build(plain(make="wove"), 2.0))
    assert truth["laid_per_cm"] is None
    assert truth["chain_offsets_mm"] == []
    assert not {"laid-lines", "chain-lines"} & {one["term"] for one in truth["regions"]}
