"""What grew between two rendered photographs is measured to within its uncertainty, or not told."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from survey.imaging.changes import find_changes
from survey.imaging.edges import outlined
from survey.imaging.followed import along, axis_of, length_of
from survey.imaging.growth import Growth, NotMeasured, Together, growth_of, together
from survey.imaging.outlines import around
from tests.imaging.pairs import Grown, grown, pair

MM = 4.0


@cache
def seen(seed: int, damage: str, share: float | None = None) -> tuple[Grown, Together]:
    made = grown(seed, damage, share)
    found = find_changes(made.earlier, made.later)
    return made, together(found.earlier, found.later, found.px_per_mm)


def measured(seed: int, damage: str, share: float | None = None) -> tuple[Grown, Growth]:
    """As a person outlined it on the earlier photograph, off by 0.3 mm."""
    made, pictures = seen(seed, damage, share)
    kind = "area" if made.is_area else "line"
    return made, growth_of(pictures, made.was + 0.3, is_outline=made.is_area, kind=kind)


@pytest.mark.parametrize(
    ("seed", "damage"), [(4, "tear"), (6, "tear"), (5, "crease"), (2, "fold"), (3, "stain")]
)
def test_growth_agrees_with_the_truth_within_twice_its_uncertainty(seed: int, damage: str) -> None:
    made, told = measured(seed, damage)
    truly = made.now - made.before
    assert told.kind == ("area" if made.is_area else "line") and told.is_whole
    assert abs(told.change.value - truly) < 2 * told.change.uncertainty
    assert told.change.value > 2 * told.change.uncertainty
    assert told.earlier is not None
    apart = told.later.value - told.earlier.value
    assert told.change.value == pytest.approx(apart, abs=0.01)


def test_lengths_of_a_tear_agree_with_the_truth_too() -> None:
    made, told = measured(4, "tear")
    assert told.earlier is not None
    assert told.earlier.value == pytest.approx(made.before, abs=2 * told.earlier.uncertainty)
    assert told.later.value == pytest.approx(made.now, abs=2 * told.later.uncertainty)
    assert length_of(np.array(told.points)) == pytest.approx(told.later.value, abs=2.0)


def test_a_tear_that_did_not_grow_is_told_as_no_longer_within_the_uncertainty() -> None:
    made, told = measured(5, "tear", 1.0)
    assert made.now == pytest.approx(made.before)
    assert abs(told.change.value) < 2 * told.change.uncertainty
    assert told.change.uncertainty < 1.5


def test_the_outline_of_an_observation_serves_as_well_as_a_tapped_line() -> None:
    made, pictures = seen(6, "tear")
    outline = around(made.was.tolist(), 1.5)
    told = growth_of(pictures, outline, is_outline=True)
    assert told.kind == "line"
    assert abs(told.change.value - (made.now - made.before)) < 2 * told.change.uncertainty


def test_a_new_tear_was_not_seen_before() -> None:
    made = pair(100, "tear")
    found = find_changes(made.earlier, made.later)
    pictures = together(found.earlier, found.later, found.px_per_mm)
    told = growth_of(pictures, found.regions[0].points, is_outline=True, kind="line", is_new=True)
    assert told.earlier is None and told.change == told.later
    ribbon = made.outlines[0]
    half = len(ribbon) // 2
    middle = (ribbon[:half] + ribbon[half : 2 * half][::-1]) / 2
    assert told.later.value == pytest.approx(length_of(middle), abs=3 * told.later.uncertainty)


def test_a_difference_leads_back_to_the_older_part_of_a_tear() -> None:
    made = grown(4, "tear")
    found = find_changes(made.earlier, made.later)
    pictures = together(found.earlier, found.later, found.px_per_mm)
    told = growth_of(pictures, found.regions[0].points, is_outline=True, kind="line", is_new=True)
    assert told.is_whole and told.earlier is not None
    assert told.earlier.value == pytest.approx(made.before, abs=3 * told.earlier.uncertainty)


def test_how_well_the_size_is_known_counts_for_lengths_and_hardly_for_their_difference() -> None:
    made, pictures = seen(6, "tear")
    sure = growth_of(pictures, made.was, is_outline=False)
    unsure = growth_of(pictures, made.was, is_outline=False, scale_share=0.05)
    assert unsure.later.uncertainty > 0.05 * unsure.later.value
    assert unsure.change.uncertainty < sure.change.uncertainty + 0.05 * unsure.change.value


def lines(*ends_mm: float, drawn: Sequence[tuple[slice, slice]] = ()) -> Together:
    """A dark line from the left edge as far as each of these, on paper with some grain; what is
    drawn, rows and columns in mm, is darker and on both."""
    y, x = np.mgrid[0:240, 0:240] / MM
    random = np.random.default_rng(3)
    grain = random.normal(0, 0.01, x.shape)
    planes = []
    for end in ends_mm:
        plane = -0.4 * np.exp(-(((y - 30) / 0.3) ** 2)) * (x < end)
        for rows, columns in drawn:
            plane[
                tuple(slice(int(one.start * MM), int(one.stop * MM)) for one in (rows, columns))
            ] = -1
        planes.append((plane + grain + random.normal(0, 0.01, x.shape)).astype(np.float32))
    none = np.zeros_like(planes[0])
    return Together((planes[0], planes[1]), (none, none), MM, 0.1)


OUTLINED = [(0.0, 30.2), (10.0, 30.2), (24.8, 30.2)]


def test_a_line_that_is_as_it_was_seems_no_longer() -> None:
    told = growth_of(lines(25.0, 25.0), OUTLINED, is_outline=False)
    assert abs(told.change.value) < 0.3


def test_a_line_that_goes_on_as_something_drawn_is_given_no_end() -> None:
    along_it = (slice(29.5, 30.5), slice(22.0, 50.0))
    with pytest.raises(NotMeasured, match="cannot be told from what is drawn"):
        growth_of(lines(25.0, 35.0, drawn=[along_it]), OUTLINED, is_outline=False)


def test_an_end_in_something_drawn_is_told_less_surely() -> None:
    clear = growth_of(lines(25.0, 35.0), OUTLINED, is_outline=False)
    across = (slice(20.0, 31.0), slice(33.0, 41.0))
    hidden = growth_of(lines(25.0, 35.0, drawn=[across]), OUTLINED, is_outline=False)
    assert clear.change.value == pytest.approx(10.0, abs=2 * clear.change.uncertainty)
    assert hidden.change.value == pytest.approx(10.0, abs=2 * hidden.change.uncertainty)
    assert hidden.change.uncertainty > 8 / np.sqrt(12) > 3 * clear.change.uncertainty


def test_what_is_not_seen_is_not_measured_and_says_what_to_do() -> None:
    made, pictures = seen(4, "tear")
    flat = replace(pictures, light=tuple(np.zeros_like(one) for one in pictures.light))
    with pytest.raises(NotMeasured, match="Measure it by hand"):
        growth_of(flat, made.was, is_outline=False)
    with pytest.raises(NotMeasured, match="not seen clearly all round"):
        growth_of(
            replace(flat, yellow=flat.light),
            [(40, 40), (60, 40), (60, 60), (40, 60)],
            is_outline=True,
        )


def test_a_mended_tear_is_not_given_a_length() -> None:
    made, pictures = seen(6, "tear")
    mended = replace(pictures, light=(pictures.light[1], np.zeros_like(pictures.light[1])))
    with pytest.raises(NotMeasured, match="mended"):
        growth_of(mended, made.points, is_outline=False)


def test_an_outline_of_something_else_is_not_measured() -> None:
    made, pictures = seen(3, "stain")
    middle = made.was.mean(axis=0)
    with pytest.raises(NotMeasured):
        growth_of(pictures, middle + 0.4 * (made.was - middle), is_outline=True, kind="area")


def test_the_axis_of_a_ribbon_is_its_line() -> None:
    line = np.array([(10.0, 10.0), (20.0, 14.0), (30.0, 13.0), (42.0, 20.0)])
    axis, breadth = axis_of(np.array(around(along(line).tolist(), 1.0)))
    assert length_of(axis) == pytest.approx(length_of(line), abs=1.5)
    assert breadth == pytest.approx(2.0, abs=0.4)


def test_the_area_of_a_sharp_disc_is_exact_within_its_uncertainty() -> None:
    y, x = np.mgrid[0:240, 0:240] / MM
    random = np.random.default_rng(2)
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    planes = []
    for radius in (7.0, 8.0):
        disc = np.clip((radius - np.hypot(x - 30, y - 30)) * MM + 0.5, 0, 1)
        noise = random.normal(0, 0.01, disc.shape)
        planes.append((-0.2 * disc + noise).astype(np.float32))
    none = np.zeros_like(planes[0])
    outline = 30 + 7.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    was, now = outlined((planes[0], planes[1]), (none, none), outline, MM)
    assert was is not None and now is not None
    for found, radius in ((was, 7.0), (now, 8.0)):
        assert found.area_mm2 == pytest.approx(np.pi * radius**2, abs=2 * found.uncertainty_mm2)
