"""Colour by a target in the frame, and CIEDE2000 against its published test data."""

import functools
import json
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from skimage import color

from survey.imaging.chart import (
    FOLDER,
    Chart,
    WrongChart,
    chart_from,
    delta_e_2000,
    lab_of,
    light_of,
    load_chart,
)
from survey.imaging.colour import Colour, corrected, read_target
from survey.imaging.geometry import WrongPoints, four_to_four, mapped
from survey.imaging.opened import encoded, linear

# G. Sharma, W. Wu and E. N. Dalal, The CIEDE2000 color-difference formula: implementation notes,
# supplementary test data, and mathematical observations, Color Research and Application 30 (2005),
# table 1: two colours and their difference. From memory; the formula agrees with all 34.
PAIRS = np.array(
    [
        (50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425),
        (50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615),
        (50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412),
        (50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669),
        (50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461),
        (50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065),
        (50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492),
        (50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977),
        (50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030),
        (50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000),
        (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
        (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
        (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
        (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
        (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
        (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
        (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
        (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
        (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
        (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
    ]
)


def test_differences_are_the_published_ones() -> None:
    assert len(PAIRS) == 34
    assert delta_e_2000(PAIRS[:, :3], PAIRS[:, 3:6]) == pytest.approx(PAIRS[:, 6], abs=5.1e-5)
    assert delta_e_2000(PAIRS[:, 3:6], PAIRS[:, :3]) == pytest.approx(PAIRS[:, 6], abs=5.1e-5)


def test_colours_go_to_lab_and_back_as_a_library_has_it() -> None:
    coded = np.random.default_rng(4).integers(0, 256, (50, 3), dtype=np.uint8)
    light = linear(coded).astype(float)
    assert lab_of(light, "D65") == pytest.approx(color.rgb2lab(coded), abs=2e-3)
    for illuminant in ("D50", "D65"):
        assert light_of(lab_of(light, illuminant), illuminant) == pytest.approx(light, abs=1e-6)
        white = lab_of(np.ones((1, 3)), illuminant)[0]
        assert white == pytest.approx([100, 0, 0], abs=0.02)


PORT_ELLERY = load_chart(FOLDER / "port-ellery.json")
GREY_SCALE = load_chart(FOLDER / "grey-scale.json")
SHAPE = (500, 700)
CORNERS = np.array([(60.0, 42.0), (655.0, 70.0), (640.0, 455.0), (38.0, 430.0)])
CAST = np.array([0.83, 1.0, 1.21])
MIXED = np.array([[0.86, 0.11, 0.03], [0.06, 0.88, 0.06], [0.02, 0.14, 0.84]])

Change = Callable[[np.ndarray, np.ndarray], np.ndarray]


def as_told(light: np.ndarray, across: np.ndarray) -> np.ndarray:
    return light


@functools.cache
def places() -> np.ndarray:
    """(2, rows, columns): where on the target each pixel looks, as shares of its sides."""
    y, x = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]] + 0.5
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    to_chart = four_to_four(CORNERS, square)
    return mapped(to_chart, np.column_stack([x.ravel(), y.ravel()])).T.reshape(2, *SHAPE)


def photographed(
    chart: Chart = PORT_ELLERY,
    change: Change = as_told,
) -> np.ndarray:
    """The target on a grey bench, seen askew. ``change`` gets the light and each pixel's x, 0…1."""
    u, v = places()
    light = np.full((*SHAPE, 3), 0.3)
    light[(u > 0) & (u < 1) & (v > 0) & (v < 1)] = 0.04
    for patch, colour in zip(chart.patches, light_of(chart.lab, chart.illuminant), strict=True):
        left, top, right, bottom = patch.box
        light[(u > left) & (u < right) & (v > top) & (v < bottom)] = colour
    x = (np.arange(SHAPE[1]) + 0.5)[None, :, None] / SHAPE[1]
    seen = change(light, x)
    seen = cv2.GaussianBlur(seen, (0, 0), 0.8)
    seen = seen + np.random.default_rng(6).normal(0, 0.004, seen.shape) * np.sqrt(seen + 0.02)
    return encoded(seen.astype(np.float32))


def test_every_reference_colour_can_be_shown() -> None:
    for chart in (PORT_ELLERY, GREY_SCALE):
        light = light_of(chart.lab, chart.illuminant)
        assert light.min() > 0 and light.max() < 1


@pytest.mark.parametrize("chart", [PORT_ELLERY, GREY_SCALE], ids=lambda chart: chart.name)
def test_a_faithful_photograph_needs_no_change(chart: Chart) -> None:
    colour = read_target(photographed(chart), CORNERS, chart)
    assert colour.gains == pytest.approx((1, 1, 1), abs=0.01)
    assert colour.exposure_stops == pytest.approx(0, abs=0.02)
    assert colour.before.mean < 0.6 and colour.after.mean < 0.6
    assert colour.sentences == ()


@pytest.mark.parametrize("stops", [-1.0, -0.3, 0.05])
def test_gains_and_exposure_are_those_the_camera_had_wrong(stops: float) -> None:
    colour = read_target(
        photographed(change=lambda a, x: a * CAST * 2**stops), CORNERS, PORT_ELLERY
    )
    assert colour.gains == pytest.approx(1 / CAST, rel=0.01)
    # Exposure is told by luminance of the light a white would have needed.
    wanted = -np.log2((2**-stops / CAST) @ [0.2126, 0.7152, 0.0722])
    assert colour.exposure_stops == pytest.approx(wanted, abs=0.02)
    assert colour.exposure_uncertainty_stops < 0.05
    assert colour.before.mean > 4 and colour.after.mean < 1


def test_colours_that_the_sensor_mixes_are_set_apart_again() -> None:
    picture = photographed(change=lambda light, x: 0.8 * light @ MIXED.T)
    colour = read_target(picture, CORNERS, PORT_ELLERY)
    assert colour.with_matrix
    assert np.array(colour.matrix) @ (0.8 * MIXED) == pytest.approx(np.eye(3), abs=0.02)
    assert colour.after.mean < 0.8 < 3 < colour.before.mean
    assert colour.after.mean <= colour.after.p95 <= colour.after.worst
    assert 0 < colour.uncertainty < 0.3


def test_each_patch_is_judged_by_a_correction_it_had_no_part_in() -> None:
    """Reference values that are off by chance: a fit to them looks better than it is."""
    random = np.random.default_rng(8)
    worn = {
        "name": "worn",
        "source": "a test",
        "illuminant": "D50",
        "patches": [
            {"name": p.name, "box": p.box, "lab": (p.lab + random.normal(0, 1.2, 3)).tolist()}
            for p in PORT_ELLERY.patches
        ],
    }
    chart = chart_from(worn)
    colour = read_target(photographed(), CORNERS, chart)
    seen = light_of([patch.seen_lab for patch in colour.patches], "D50")
    fitted = delta_e_2000(lab_of(seen @ np.array(colour.matrix).T, "D50"), chart.lab)
    assert fitted.mean() < colour.after.mean


def test_two_photographs_years_apart_compare_after_correction() -> None:
    """The same paper under two lamps and two cameras: far apart as photographed, alike after."""
    paper = np.array([0.70, 0.62, 0.47])
    seen = []
    for change in (lambda a, x: 0.7 * a * CAST, lambda a, x: (a @ MIXED.T) * [1.1, 1.0, 0.85]):

        def with_paper(light: np.ndarray, x: np.ndarray, change: Change = change) -> np.ndarray:
            light[470:, :] = paper
            return change(light, x)

        picture = photographed(change=with_paper)
        colour = read_target(picture, CORNERS, PORT_ELLERY)
        right = corrected(picture, colour)
        assert right.shape == picture.shape and right.dtype == np.uint8
        seen.append(
            [lab_of(linear(p)[480:].reshape(-1, 3).mean(axis=0), "D65") for p in (picture, right)]
        )
    as_shot, after = (delta_e_2000(seen[0][at], seen[1][at]) for at in (0, 1))
    assert as_shot > 5 and after < 1
    assert delta_e_2000(seen[0][1], lab_of(paper, "D65")) < 1


def test_correcting_leaves_the_photograph_alone() -> None:
    picture = photographed()
    kept = picture.copy()
    corrected(picture, read_target(picture, CORNERS, PORT_ELLERY))
    assert np.array_equal(picture, kept)


def test_it_names_burnt_out_patches_and_leaves_them_out() -> None:
    colour = read_target(photographed(change=lambda a, x: a * 1.5), CORNERS, PORT_ELLERY)
    assert any(
        "Burnt out or black, and left out" in said and "Grey 1" in said for said in colour.sentences
    )
    first = next(patch for patch in colour.patches if patch.name == "Grey 1")
    assert first.before is None and first.after is None
    assert colour.exposure_stops == pytest.approx(np.log2(1.5), abs=0.03)
    assert colour.after.mean < 1


def test_it_says_when_light_is_uneven_over_the_target() -> None:
    even = read_target(photographed(change=lambda a, x: a * 0.8), CORNERS, PORT_ELLERY)
    uneven = read_target(
        photographed(change=lambda a, x: a * (0.6 + 0.4 * x)), CORNERS, PORT_ELLERY
    )
    assert not any("light changes" in said for said in even.sentences)
    assert any("light changes by about" in said for said in uneven.sentences)


def test_it_says_when_something_lies_across_a_patch() -> None:
    picture = photographed()
    # A shadow's edge through the middle of the first patch.
    picture[:107, :130] = picture[:107, :130] // 2
    colour = read_target(picture, CORNERS, PORT_ELLERY)
    assert any("Something lies across Grey 1" in said for said in colour.sentences)


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_corners_tapped_from_another_one_are_refused(turn: int) -> None:
    with pytest.raises(WrongPoints, match="do not look like those of Port Ellery target"):
        read_target(photographed(), np.roll(CORNERS, turn, axis=0), PORT_ELLERY)


def test_wrong_places_are_refused() -> None:
    picture = photographed()
    with pytest.raises(WrongPoints, match="anticlockwise"):
        read_target(picture, CORNERS[::-1], PORT_ELLERY)
    with pytest.raises(WrongPoints, match="too small in this photograph"):
        read_target(picture, CORNERS / 25 + 5, PORT_ELLERY)
    with pytest.raises(WrongPoints, match="lies outside the picture"):
        read_target(picture, CORNERS + 100, PORT_ELLERY)
    with pytest.raises(WrongPoints, match="do not look like"):
        read_target(picture, CORNERS * 0.7, PORT_ELLERY)


def test_a_photograph_burnt_out_all_over_is_refused() -> None:
    with pytest.raises(WrongPoints, match=r"do not look like|Too few patches"):
        read_target(photographed(change=lambda a, x: a * 40), CORNERS, GREY_SCALE)


def test_what_is_read_goes_into_json() -> None:
    colour = read_target(photographed(), CORNERS, PORT_ELLERY)
    told = json.loads(json.dumps(colour.as_dict()))
    assert told["chart"] == "Port Ellery target"
    assert len(told["patches"]) == 24
    assert set(told) == set(Colour.__dataclass_fields__)


BROKEN = {
    "no patches": ({"name": "a", "source": "b", "illuminant": "D50"}, "needs a name"),
    "unknown light": ({"illuminant": "D93"}, "illuminant of a target"),
    "few patches": ({"patches": []}, "at least 4 patches"),
    "box": ({"box": [0.5, 0, 0.2, 1]}, "box of one is left, top"),
    "lab": ({"lab": [120, 0, 0]}, "no colour of a surface"),
    "words": ({"lab": "white"}, "Each patch has a name"),
    "no greys": ({"lab": [50, 30, 30]}, "two grey patches"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_it_says_what_a_chart_lacks(what: str) -> None:
    change, sentence = BROKEN[what]
    patch = {"name": "one", "box": [0, 0, 0.2, 1], "lab": [50, 0, 0]}
    told = {"name": "a", "source": "b", "illuminant": "D50", "patches": [patch] * 5}
    if "name" in change:
        told = change
    else:
        told |= {key: value for key, value in change.items() if key in told}
        told["patches"] = [
            one | {key: value for key, value in change.items() if key in patch}
            for one in told["patches"]
        ]
    with pytest.raises(WrongChart, match=sentence):
        chart_from(told)


def test_a_chart_that_is_no_json_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    path.write_text("name: mine")
    with pytest.raises(WrongChart, match=r"mine\.json is not JSON"):
        load_chart(path)
