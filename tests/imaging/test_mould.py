"""Sheets of one mould are known again, turned and cut as they may be."""

import math
from dataclasses import replace

import numpy as np
import pytest

from survey.demo.sheet.recipe import Mould, SheetRecipe
from survey.imaging.mould import Background, Traits, WatermarkBox, background_of, compare, rank
from tests.imaging.catalogues import catalogue, measured, twin, wire_mould

INTERVALS = (24.1, 25.6, 24.8, 26.3, 23.9, 25.2, 24.4)


def traits(intervals: tuple[float, ...] = INTERVALS, **more: object) -> Traits:
    return Traits(intervals, (0.08,) * len(intervals), **more)  # type: ignore[arg-type]


def test_the_same_sheet_agrees_as_it_lies() -> None:
    found = compare(traits(), traits())
    assert found.turned == "as is"
    assert found.lines == 8
    assert found.worst_mm == 0
    assert found.log_ratio > math.log(1000)
    assert found.words == "Intervals agree within 0.0 mm over 8 chain lines, as they lie."


def test_a_sheet_turned_over_is_known() -> None:
    found = compare(traits(), traits(INTERVALS[::-1]))
    assert found.turned == "turned over"
    assert "turned over or by half a turn" in found.words
    assert found.log_ratio == pytest.approx(compare(traits(), traits()).log_ratio, abs=0.5)


@pytest.mark.parametrize(
    ("reverse", "sides", "turned"),
    [
        (True, (True, True), "half turn"),
        (True, (True, False), "turned over"),
        (False, (True, True), "as is"),
        (False, (True, False), "turned over and half turn"),
    ],
)
def test_the_moulds_side_tells_turned_over_from_half_a_turn(
    reverse: bool, sides: tuple[bool, bool], turned: str
) -> None:
    other = traits(INTERVALS[::-1] if reverse else INTERVALS, mould_side_seen=sides[1])
    assert compare(traits(mould_side_seen=sides[0]), other).turned == turned


@pytest.mark.parametrize("reverse", [False, True])
def test_the_overlap_lays_line_on_line(reverse: bool) -> None:
    places = np.array([7.0, *(7.0 + np.cumsum(INTERVALS))])
    part = places[2:7]
    there = 200.0 - part[::-1] if reverse else part - 40.0
    other = traits(tuple(np.diff(there)), first_mm=float(there[0]))
    found = compare(traits(first_mm=7.0), other)
    assert found.offset is not None
    assert found.lines == 5
    laid_over = np.sort(found.offset.sign * there + found.offset.offset_mm)
    assert laid_over == pytest.approx(part, abs=0.01)
    assert found.offset.flip is reverse


def test_a_missed_line_does_not_hide_a_mate() -> None:
    missed = (*INTERVALS[:2], INTERVALS[2] + INTERVALS[3], *INTERVALS[4:])
    found = compare(traits(), traits(missed))
    assert found.lines == 7
    assert found.log_ratio > math.log(100)


def test_strangers_do_not_agree() -> None:
    random = np.random.default_rng(4)
    ratios = [
        compare(
            measured(wire_mould(random), random), measured(wire_mould(random), random)
        ).log_ratio
        for _ in range(40)
    ]
    assert np.mean(np.array(ratios) < 0) > 0.9
    assert max(ratios) < math.log(1000)


def test_no_chain_lines_say_nothing() -> None:
    assert compare(traits(), traits(())).log_ratio == 0
    assert "Too few chain lines" in compare(traits(), traits(())).words


def test_laid_lines_speak_for_and_against() -> None:
    one = traits((), laid_per_cm=9.4, laid_u=0.02)
    near, far = (traits((), laid_per_cm=value, laid_u=0.02) for value in (9.42, 10.9))
    assert compare(one, near).log_ratio > 2
    assert compare(one, far).log_ratio < -5
    assert "9.40 and 10.90" in compare(one, far).words


def test_a_watermark_in_the_same_place_adds_to_the_likeness() -> None:
    box = WatermarkBox(30.0, 58.0, 90.0, 40.0)
    one = traits(watermark=box)
    same = traits(watermark=replace(box, along_mm=64.0))
    elsewhere = traits(watermark=replace(box, start_mm=80.0, end_mm=108.0))
    assert compare(one, same).log_ratio > compare(one, traits()).log_ratio + 2
    assert compare(one, elsewhere).log_ratio < compare(one, traits()).log_ratio
    offset = compare(one, same).offset
    assert offset is not None
    assert offset.along_mm == pytest.approx(26.0)


def test_a_twin_is_likelier_than_a_stranger_but_less_like_than_a_mate() -> None:
    """What the module warns of: twins pass for mates far more often than strangers do."""
    random = np.random.default_rng(8)
    mates, twins = [], []
    for _ in range(30):
        mould = wire_mould(random)
        one = measured(mould, random)
        mates.append(compare(one, measured(mould, random)).log_ratio)
        twins.append(compare(one, measured(twin(mould, random), random)).log_ratio)
    assert np.median(mates) > np.median(twins)
    assert np.mean(np.array(twins) > 0) > 0.3


def test_the_mate_comes_first_in_most_catalogues() -> None:
    first = 0
    for seed in range(8):
        one, others = catalogue(seed, sheets=25)
        first += rank(one, others)[0][0] == "mate"
    assert first >= 7


def test_two_cut_sheets_of_one_rendered_mould_are_mates() -> None:
    wide = SheetRecipe(seed=1, width_mm=220, height_mm=90, mould=Mould(9, 30.0))
    part = SheetRecipe(seed=2, width_mm=180, height_mm=90, mould=Mould(9, 85.0))
    shared = np.array(wide.chain_offsets_mm()) + 30.0
    common = [u for u in shared if any(abs(u - v - 85.0) < 1e-9 for v in part.chain_offsets_mm())]
    assert len(common) >= 5
    one, other = (
        traits(tuple(np.diff(recipe.chain_offsets_mm())), first_mm=recipe.chain_offsets_mm()[0])
        for recipe in (wide, part)
    )
    found = compare(one, other)
    assert found.lines == len(common)
    assert found.offset is not None
    assert found.offset.offset_mm == pytest.approx(55.0, abs=0.01)


def test_a_sheet_without_a_shared_mould_is_as_it_was() -> None:
    recipe = SheetRecipe(seed=5, width_mm=120, height_mm=100)
    assert "mould" not in recipe.as_dict()
    assert replace(recipe, mould=Mould(5)).chain_offsets_mm() == recipe.chain_offsets_mm()
    with pytest.raises(ValueError, match="cannot begin before"):
        Mould(5, -1.0)


def test_the_background_comes_from_a_catalogue_that_is_large_enough() -> None:
    _, others = catalogue(3, sheets=60)
    found = background_of(others.values())
    assert found.mean_mm == pytest.approx(25, abs=2)
    assert background_of(list(others.values())[:10]) == Background()


def test_traits_without_uncertainty_are_refused() -> None:
    with pytest.raises(ValueError, match="uncertainty for every interval"):
        Traits((25.0, 24.0), (0.1,))
    with pytest.raises(ValueError, match="greater than 0"):
        Traits((25.0,), (0.0,))


def test_watermarks_of_other_sizes_speak_against_one_mould() -> None:
    one = WatermarkBox(4.0, 52.0, 90.0, 48.0)
    other = WatermarkBox(4.0, 37.0, 90.0, 56.0)
    bare = [traits(), traits()]
    marked = [replace(each, watermark=mark) for each, mark in zip(bare, (one, other), strict=True)]
    assert compare(*marked).log_ratio < compare(*bare).log_ratio
