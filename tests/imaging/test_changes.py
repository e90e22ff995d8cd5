"""New damage between two rendered photographs is found where it is; nothing is made of nothing."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from survey.imaging.align import NotAligned
from survey.imaging.changes import Changes, find_changes
from survey.imaging.differences import beyond_edges, without_light
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.plate import bent_to, everywhere, grid_of
from survey.imaging.rectified import NotReadable
from survey.imaging.settling import drift
from tests.imaging.pairs import DAMAGES, Pair, pair

MM = 4.0


@cache
def photographed(seed: int, damage: str = "") -> Pair:
    return pair(seed, damage)


@cache
def seen(seed: int, damage: str = "") -> tuple[Pair, Changes]:
    made = photographed(seed, damage)
    return made, find_changes(made.earlier, made.later)


@pytest.mark.parametrize(("number", "damage"), list(enumerate(DAMAGES)))
def test_new_damage_is_among_the_first_three_places(number: int, damage: str) -> None:
    made, found = seen(100 + number, damage)
    assert any(made.is_at(np.array(one.points)) for one in found.regions[:3])
    strengths = [one.strength for one in found.regions]
    assert strengths == sorted(strengths, reverse=True)
    for one in found.regions:
        assert one.area_mm2 > 0 and one.area_u_mm2 > 0 and one.percent_u >= 0
        assert (one.length_mm is None) == (one.kind == "area")
        assert one.words and "damage" not in one.words
        points = np.array(one.points)
        assert (points >= 0).all()
        assert (points <= (made.earlier.width_mm, made.earlier.height_mm)).all()


def test_a_tear_is_a_dark_line_and_a_crease_in_raking_light_is_light_and_dark() -> None:
    _, torn = seen(100, "tear")
    assert (torn.regions[0].kind, torn.regions[0].words) == ("line", "a line, darker than before")
    _, creased = seen(101, "crease")
    assert creased.regions[0].words == "a line, light on one side and dark on the other"
    _, flaked = seen(104, "flake")
    assert "where something was drawn" in flaked.regions[0].words


def test_the_length_of_a_tear_agrees_with_the_truth_within_its_uncertainty_and_the_edge() -> None:
    made, found = seen(100, "tear")
    ribbon = made.outlines[0]
    half = len(ribbon) // 2
    middle = (ribbon[:half] + ribbon[half : 2 * half][::-1]) / 2
    true = float(np.linalg.norm(np.diff(middle, axis=0), axis=1).sum())
    told = found.regions[0]
    assert told.length_mm is not None and told.length_u_mm is not None
    # The first millimetres from the edge are left out, and the tip is closed to the eye.
    assert true - 6 < told.length_mm < true + 3 * told.length_u_mm


@pytest.mark.parametrize("seed", [102, 108])
def test_light_camera_and_curl_alone_suggest_nothing(seed: int) -> None:
    _, found = seen(seed)
    assert found.regions == ()
    assert found.sentence.startswith("Nothing stands out")


def test_the_later_picture_lies_on_the_earlier_one() -> None:
    made, found = seen(102)
    assert found.later.shape == found.earlier.shape == made.earlier.pixels.shape
    assert found.map.shape == found.earlier.shape[:2]
    assert abs(float(np.median(found.map)) - 128) <= 1
    one, two = (picture.astype(float).mean(axis=2)[20:-20, 20:-20] for picture in
                (found.earlier, found.later))  # fmt: skip
    assert np.corrcoef(one.ravel(), two.ravel())[0, 1] > 0.9


def test_another_sheet_is_refused_with_a_sentence() -> None:
    one, other = photographed(102), photographed(104, "flake")
    with pytest.raises(NotAligned, match="same side of the same sheet"):
        find_changes(one.earlier, other.later)


def test_blank_pictures_ask_for_the_corners_or_use_them() -> None:
    random = np.random.default_rng(3)
    paper = np.clip(random.normal(200, 2, (2, 300, 400, 3)), 0, 255).astype(np.uint8)
    sheet = RectifiedSheet(paper[0], MM, 100.0, 75.0)
    with pytest.raises(NotAligned, match="corners"):
        find_changes(sheet, paper[1])
    found = find_changes(sheet, paper[1], np.diag([1 / MM, 1 / MM, 1.0]))
    assert found.regions == ()


def test_dark_and_tiny_pictures_are_refused_with_a_sentence() -> None:
    made = photographed(102)
    with pytest.raises(NotReadable, match="earlier photograph is all dark"):
        find_changes(replace(made.earlier, pixels=made.earlier.pixels // 40), made.later)
    tiny = RectifiedSheet(made.earlier.pixels[:30, :30], MM, 7.5, 7.5)
    with pytest.raises(NotReadable, match="too small"):
        find_changes(tiny, made.later)


def test_a_plate_follows_what_bends_slowly_and_passes_over_what_contradicts() -> None:
    random = np.random.default_rng(1)
    points = random.uniform(0, 400, (500, 2))
    slow = np.sin(points[:, 0] / 120) + points[:, 1] / 300
    wrong = slow.copy()
    wrong[::17] += 5
    shape = (400, 400)
    grid = grid_of(shape, 25, 40)
    nodes = bent_to(points, wrong[:, None], np.ones((500, 1, 1)), shape, grid, 1.0)
    plate = everywhere(nodes[:, :, 0], shape)
    y, x = np.mgrid[10:390:40, 10:390:40]
    assert np.abs(plate[y, x] - (np.sin(x / 120) + y / 300)).max() < 0.1


def test_paper_that_moved_within_itself_is_followed() -> None:
    made = photographed(102)
    plane = made.earlier.pixels.mean(axis=2).astype(np.float32) / 255
    moved = np.roll(plane, (2, -3), axis=(0, 1))
    field = drift(plane, moved, MM)
    assert field is not None
    assert np.median(field[60:-60, 60:-60], axis=(0, 1)) == pytest.approx((-3, 2), abs=0.2)


def test_a_shifted_edge_is_no_difference_and_a_new_line_is() -> None:
    edge = np.zeros((40, 40), dtype=np.float32)
    edge[:, 20:] = 1
    assert not beyond_edges(edge, np.roll(edge, 1, axis=1), 1)[:, 2:-2].any()
    line = edge.copy()
    line[10] = -1
    assert beyond_edges(edge, line, 1)[10].max() < 0


def test_slow_light_is_taken_out_and_a_stain_stays() -> None:
    y, x = np.mgrid[0:400, 0:400].astype(np.float32) / 400
    light = 0.2 * x - 0.1 * y * y + 0.05 * np.sin(2 * x)
    rest = light.copy()
    rest[180:210, 150:180] -= 0.1
    left = without_light(rest, np.ones((400, 400), dtype=bool), MM)
    assert np.abs(left[:100]).max() < 0.005
    assert np.median(left[180:210, 150:180]) == pytest.approx(-0.1, abs=0.01)
