"""The structure of a paper is read rightly, doubted rightly, and put right by a person."""

import itertools
import json
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import find_peaks, periodogram

from survey.imaging.geometry import RectifiedSheet
from survey.imaging.paper import (
    WrongCorrection,
    corrected,
    paper_from,
    read_paper,
)
from tests.imaging.papers import seen_from_verso, shot

PX_PER_MM = 4.0
SIZE_MM = (150.0, 120.0)


def sheet_of(light: NDArray[np.float64], px_per_mm: float = PX_PER_MM) -> RectifiedSheet:
    """A picture from linear light 0…1."""
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    grey = np.clip(np.round(coded * 255), 0, 255).astype(np.uint8)
    rows, columns = grey.shape
    return RectifiedSheet(
        np.repeat(grey[:, :, None], 3, axis=2), px_per_mm, columns / px_per_mm, rows / px_per_mm
    )


def drawn_lines(
    laid_per_mm: float,
    chains_mm: list[float],
    angle_deg: float = 0.0,
    noise: float = 0.01,
    px_per_mm: float = PX_PER_MM,
) -> RectifiedSheet:
    """Laid and chain lines of a formula, none of the sheet renderer's code."""
    random = np.random.default_rng(3)
    columns, rows = (round(mm * px_per_mm) for mm in SIZE_MM)
    x = (np.arange(columns)[None, :] + 0.5) / px_per_mm
    y = (np.arange(rows)[:, None] + 0.5) / px_per_mm
    angle = math.radians(angle_deg)
    across = x * math.cos(angle) + y * math.sin(angle)
    along = x * math.sin(angle) - y * math.cos(angle)
    light = 0.4 + 0.03 * np.cos(2 * math.pi * laid_per_mm * along)
    for offset in chains_mm:
        light = light + 0.08 * np.exp(-(((across - offset) / 0.45) ** 2))
    return sheet_of(light + random.normal(0, noise, light.shape), px_per_mm)


def test_it_counts_what_a_periodogram_counts() -> None:
    sheet = drawn_lines(0.937, [20.0, 45.5, 70.0, 96.0, 121.0])
    profile = sheet.pixels[:, :, 0].mean(axis=1)
    frequency, power = periodogram(profile, fs=PX_PER_MM, nfft=1 << 16, window="hann")
    usable = frequency > 0.4
    peak = frequency[usable][np.argmax(power[usable])]
    paper = read_paper(sheet, "transmitted", corner_mm=0.0)
    assert paper.make == "laid"
    assert paper.laid_per_cm is not None
    assert paper.laid_per_cm.value == pytest.approx(10 * peak, rel=0.002)
    assert paper.laid_per_cm.value == pytest.approx(9.37, rel=0.001)
    assert paper.laid_per_20mm is not None
    assert paper.laid_per_20mm.value == pytest.approx(2 * paper.laid_per_cm.value)


def test_it_places_chain_lines_where_their_peaks_are() -> None:
    sheet = drawn_lines(0.937, [20.0, 45.5, 70.0, 96.0, 121.0])
    profile = sheet.pixels[:, :, 0].mean(axis=0)
    peaks, _ = find_peaks(profile, prominence=8, distance=40)
    paper = read_paper(sheet, "transmitted", corner_mm=0.0)
    found = [line.offset_mm for line in paper.chains]
    assert found == pytest.approx((peaks + 0.5) / PX_PER_MM, abs=0.15)
    assert found == pytest.approx([20.0, 45.5, 70.0, 96.0, 121.0], abs=0.05)
    assert [one.mm for one in paper.intervals] == pytest.approx([25.5, 24.5, 26, 25], abs=0.08)
    assert paper.mean_mm is not None
    assert paper.mean_mm.value == pytest.approx(25.25, abs=0.05)
    assert paper.spread_mm is not None
    assert paper.spread_mm.value == pytest.approx(np.std([25.5, 24.5, 26, 25], ddof=1), abs=0.1)


@pytest.mark.parametrize("angle_deg", [-3.0, 2.0, 88.5, 92.0])
def test_offsets_are_told_from_the_sheets_origin_whatever_the_direction(angle_deg: float) -> None:
    chains = [18.0, 42.0, 67.5, 92.0]
    paper = read_paper(drawn_lines(1.1, chains, angle_deg), "transmitted")
    assert paper.chain_angle_deg is not None
    assert paper.chain_angle_deg.value == pytest.approx(angle_deg, abs=0.1)
    assert paper.laid_angle_deg is not None
    assert paper.laid_angle_deg.value == pytest.approx(angle_deg + 90, abs=0.1)
    assert [line.offset_mm for line in paper.chains] == pytest.approx(chains, abs=0.12)


@pytest.mark.parametrize("seed", [2001, 2002, 2003, 2004, 2005, 2006])
def test_random_sheets_are_measured_within_their_bounds(seed: int) -> None:
    one = shot(seed, longest_mm=170)
    paper = read_paper(one.sheet, one.light, one.azimuth_deg, one.tap_mm)
    assert paper.make == "laid", paper.why
    assert paper.laid_per_cm is not None
    assert paper.laid_per_cm.value == pytest.approx(one.truth["laid_per_cm"], rel=0.01)
    assert abs(paper.laid_per_cm.value - one.truth["laid_per_cm"]) < 4 * paper.laid_per_cm.u
    offsets = np.array(one.truth["chain_offsets_mm"])
    at = [int(np.argmin(np.abs(offsets - line.offset_mm))) for line in paper.chains]
    for (i, j), interval in zip(itertools.pairwise(at), paper.intervals, strict=True):
        if interval.whole:
            assert interval.mm == pytest.approx(offsets[j] - offsets[i], abs=0.3)


@pytest.mark.parametrize(
    ("kind", "make"),
    [
        ("wove", "wove"),
        ("along", "not measurable"),
        ("blurred", "not measurable"),
        ("coarse", "not measurable"),
    ],
)
def test_what_cannot_be_counted_is_told_as_such(kind: str, make: str) -> None:
    told = []
    for seed in (2010, 2011, 2012):
        one = shot(seed, kind, longest_mm=170)
        paper = read_paper(one.sheet, one.light, one.azimuth_deg)
        told.append(paper.make)
        assert paper.laid_per_cm is None
        assert paper.why.endswith(".")
    assert told.count(make) >= 2


def test_light_along_the_laid_lines_is_named() -> None:
    one = next(
        one
        for seed in range(2020, 2026)
        if (one := shot(seed, "along", longest_mm=170)).truth["recipe"]["drawing"] is None
    )
    paper = read_paper(one.sheet, one.light, one.azimuth_deg)
    assert "runs along the laid lines" in paper.why
    assert "quarter turn" in paper.why
    assert paper.chains


@pytest.mark.parametrize("azimuth_deg", [2.0, 85.0, 184.0, None])
def test_raking_light_along_an_edge_does_not_tell_wove_from_laid(azimuth_deg: float | None) -> None:
    sheet = shot(30, "wove", longest_mm=150).sheet
    assert read_paper(sheet, "raking", 45.0).make == "wove"
    paper = read_paper(sheet, "raking", azimuth_deg)
    assert paper.make == "not measurable"
    assert "at a slant to the sheet's edges" in paper.why


def test_too_few_pixels_are_named_with_the_number_wanted() -> None:
    paper = read_paper(drawn_lines(1.2, [], px_per_mm=1.9), "transmitted")
    assert paper.make == "not measurable"
    assert "1.9 pixels to a millimetre" in paper.why
    assert "at least 3 are wanted" in paper.why


def test_lines_that_the_pixels_may_have_folded_are_not_counted() -> None:
    # 14 lines in a centimetre at 2.4 px/mm look just like 10.
    paper = read_paper(drawn_lines(1.4, [], px_per_mm=2.4), "transmitted")
    assert paper.make == "not measurable"
    assert paper.laid_per_cm is None


@pytest.mark.parametrize(
    ("level", "word"), [(0.001, "too dark"), (1.0, "burnt out")], ids=["dark", "light"]
)
def test_bad_exposure_is_named(level: float, word: str) -> None:
    paper = read_paper(sheet_of(np.full((480, 600), level)), "transmitted")
    assert paper.make == "not measurable"
    assert word in paper.why


def test_a_picture_without_scale_is_refused_in_words() -> None:
    sheet = drawn_lines(1.0, [])
    bare = RectifiedSheet(sheet.pixels, math.nan, 0.0, 0.0)
    assert "no scale" in read_paper(bare, "transmitted").why


def test_a_plain_picture_of_any_size_gives_an_answer() -> None:
    random = np.random.default_rng(1)
    for rows, columns in ((1, 1), (60, 3000), (130, 130), (2000, 50)):
        light = 0.4 + random.normal(0, 0.02, (rows, columns))
        assert read_paper(sheet_of(light), "raking", 30.0).make in ("wove", "not measurable")


def test_other_lights_are_refused() -> None:
    with pytest.raises(ValueError, match="transmitted or a raking"):
        read_paper(drawn_lines(1.0, []), "ultraviolet")


def test_the_overlay_lies_on_the_lines_that_were_counted() -> None:
    sheet = drawn_lines(0.937, [20.0, 45.5, 70.0, 96.0, 121.0])
    paper = read_paper(sheet, "transmitted")
    stretch = next(one for one in paper.overlay if one.kind == "stretch")
    laid = [one for one in paper.overlay if one.kind == "laid"]
    count, length = int(stretch.label.split()[0]), float(stretch.label.split()[3])
    assert stretch.label == f"{count} lines in {length:.1f} mm"
    assert count == len(laid)
    assert count / length == pytest.approx(0.937, rel=0.01)
    ends = np.array(stretch.points)
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(length, abs=0.2)
    # On this sheet the lines are light where a whole number of periods has passed.
    for one in laid:
        turns = 0.937 * np.array(one.points)[:, 1]
        assert np.abs(turns - np.round(turns)).max() < 0.08
    for one, line in zip(
        [o for o in paper.overlay if o.kind == "chain"], paper.chains, strict=True
    ):
        (x0, y0), (x1, y1) = one.points
        assert (x0 + x1) / 2 == pytest.approx(line.offset_mm, abs=0.2)
        assert {round(y0, 3), round(y1, 3)} == {0.0, SIZE_MM[1]}


def test_a_paper_survives_json() -> None:
    paper = read_paper(drawn_lines(0.937, [20.0, 45.5, 70.0]), "transmitted")
    told = json.loads(json.dumps(paper.as_dict()))
    assert told["laid_per_20mm"]["value"] == pytest.approx(2 * told["laid_per_cm"]["value"])
    assert paper_from(told) == paper


def test_uncertain_corners_widen_every_uncertainty() -> None:
    sheet = drawn_lines(0.937, [20.0, 45.5, 70.0, 96.0])
    sure, unsure = (read_paper(sheet, "transmitted", corner_mm=mm) for mm in (0.0, 0.5))
    assert sure.laid_per_cm is not None
    assert unsure.laid_per_cm is not None
    assert unsure.laid_per_cm.u > math.hypot(sure.laid_per_cm.u, 9.37 * 0.5 / 130)
    for one, other in zip(sure.intervals, unsure.intervals, strict=True):
        assert other.u_mm > one.u_mm
    assert unsure.chains[0].u_mm > 0.3


def test_lines_that_grow_closer_are_counted_by_their_mean() -> None:
    columns, rows = (round(mm * PX_PER_MM) for mm in SIZE_MM)
    y = (np.arange(rows)[:, None] + 0.5) / PX_PER_MM
    # From 9 to 11 lines in a centimetre, top to bottom: 10 on average.
    turns = 0.9 * y + 0.1 / SIZE_MM[1] * y**2
    light = 0.4 + 0.03 * np.cos(2 * math.pi * turns) * np.ones(columns)
    noise = np.random.default_rng(6).normal(0, 0.01, light.shape)
    paper = read_paper(sheet_of(light + noise), "transmitted", corner_mm=0.0)
    assert paper.laid_per_cm is not None
    assert paper.laid_per_cm.value == pytest.approx(10.0, abs=0.15)
    assert abs(paper.laid_per_cm.value - 10.0) < 3 * paper.laid_per_cm.u


def test_a_person_removes_adds_and_moves_chain_lines() -> None:
    paper = read_paper(drawn_lines(0.937, [20.0, 45.5, 70.0, 96.0]), "transmitted")
    kept = [line.offset_mm for line in paper.chains]
    fewer = corrected(paper, chains_mm=[kept[0], kept[1], kept[3]])
    assert [one.whole for one in fewer.intervals] == [True, False]
    assert fewer.mean_mm is not None
    assert fewer.mean_mm.value == pytest.approx(25.5, abs=0.1)
    assert fewer.spread_mm is None
    more = corrected(paper, chains_mm=[*kept, 121.5])
    assert [line.by for line in more.chains] == ["picture"] * 4 + ["person"]
    assert more.intervals[-1].u_mm > more.intervals[0].u_mm
    assert len([one for one in more.overlay if one.kind == "chain"]) == 5
    assert more.laid_per_cm == paper.laid_per_cm


def test_a_person_counts_laid_lines() -> None:
    paper = read_paper(drawn_lines(0.937, [20.0, 45.5, 70.0]), "transmitted")
    counted = corrected(paper, laid_count=28, laid_over_mm=30.0)
    assert counted.laid_per_cm is not None
    assert counted.laid_per_cm.value == pytest.approx(9.333, abs=0.001)
    # Either end half a line out at most: 0.41 line in 28.
    assert counted.laid_per_cm.u == pytest.approx(9.333 * 0.408 / 28, rel=0.01)
    assert counted.chains == paper.chains


def test_a_person_who_sees_wove_paper_is_believed() -> None:
    paper = read_paper(drawn_lines(0.937, [20.0, 45.5, 70.0]), "transmitted")
    wove = corrected(paper, make="wove")
    assert (wove.make, wove.chains, wove.laid_per_cm, wove.overlay) == ("wove", (), None, ())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"laid_count": 1, "laid_over_mm": 30.0}, "at least two"),
        ({"laid_count": 300, "laid_over_mm": 30.0}, "between 1 and 30"),
        ({"laid_count": 30}, "stretch"),
        ({"chains_mm": [20.0, 20.4]}, "less than 1 mm apart"),
        ({"chains_mm": [math.nan]}, "number of millimetres"),
        ({"chains_mm": [20.0], "chain_angle_deg": 200.0}, "-45"),
        ({"make": "vellum"}, "to laid, to wove or to not measurable"),
        ({"make": "wove", "chains_mm": [20.0]}, "neither"),
    ],
)
def test_a_correction_that_cannot_be_is_refused_in_words(change: dict, words: str) -> None:
    paper = read_paper(drawn_lines(0.937, [20.0, 45.5, 70.0]), "transmitted")
    with pytest.raises(WrongCorrection, match=words):
        corrected(paper, **change)


def test_chain_lines_without_a_direction_ask_for_one() -> None:
    light = 0.4 + np.random.default_rng(2).normal(0, 0.01, (480, 600))
    paper = read_paper(sheet_of(light), "transmitted")
    with pytest.raises(WrongCorrection, match="which way"):
        corrected(paper, chains_mm=[20.0, 45.0])
    marked = corrected(paper, chains_mm=[20.0, 45.0], chain_angle_deg=0.0)
    assert marked.make == "laid"
    assert marked.intervals[0].mm == pytest.approx(25.0)


def test_the_verso_tells_the_same_lines_from_its_own_origin() -> None:
    for angle, offset in ((3.0, 40.0), (91.0, 40.0)):
        turned, (seen,) = seen_from_verso([offset], angle, 100.0)
        point = np.array([12.0, 0.0])
        point[1] = (offset - 12.0 * math.cos(math.radians(angle))) / math.sin(math.radians(angle))
        told = (100.0 - point[0]) * math.cos(math.radians(turned)) + point[1] * math.sin(
            math.radians(turned)
        )
        assert told == pytest.approx(seen)
