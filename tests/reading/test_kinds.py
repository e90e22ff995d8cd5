"""Each kind of reading on rendered photographs, held against the truth of the sheet."""

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from survey.demo.sheet.camera import Camera, held_by_hand
from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import Drawing, Mark, Mould, SheetRecipe
from survey.imaging.geometry import inverse, mapped
from survey.reading.models import Alignment, Reading
from survey.reading.pictures import picture_path
from survey.reading.queries import lies_of, mates_of
from survey.reading.services import CannotAsk, CannotCorrect, ask, correct, nudge
from tests.factories import PersonFactory
from tests.reading.sheets import RECIPE, WOVE, examination, photographed

pytestmark = pytest.mark.django_db

DRAWN = replace(RECIPE, drawing=Drawing("landscape", "pen-brown-ink", (12, 12, 108, 88)))


def read(kind: str, of: Any, side: str = "recto", given: Any = None) -> Reading:
    reading = ask(kind, of, side, PersonFactory(), given)
    assert reading.state == Reading.State.DONE, reading.sentence
    return reading


def picture(reading: Reading, name: str) -> np.ndarray:
    return np.asarray(Image.open(picture_path(reading.pictures[name])))


def off_mm(one: Any, lie: Any) -> float:
    """How far the sheet's corners lie from where they truly are, mm, at most."""
    w, h = RECIPE.width_mm, RECIPE.height_mm
    corners = [(0, 0), (w, 0), (w, h), (0, h)]
    truth = np.array(one.homography).reshape(3, 3)
    return float(np.abs(mapped(lie.matrix, mapped(inverse(truth), corners)) - corners).max())


def test_lights_are_aligned_and_an_unplaced_photograph_then_lies_on_the_sheet() -> None:
    of = examination(DRAWN)
    camera = held_by_hand(stream(5, "hands"), tilt=0.02)
    normal = photographed(of, recipe=DRAWN)
    other = photographed(of, "ultraviolet", recipe=DRAWN, camera=camera)
    truth = list(other.homography or [])
    other.homography = None
    other.save()
    reading = read("align", of)
    assert reading.sentence.startswith("1 of 1 photographs lie on the one in normal light")
    [row] = Alignment.objects.all()
    assert (row.photograph, row.onto, row.reading) == (other, normal, reading)
    assert row.residual_mm is not None and row.residual_mm < 0.3
    other.homography = truth
    assert off_mm(other, lies_of(of)[other.pk]) < 0.5


def test_one_light_that_shows_nothing_alike_fails_alone() -> None:
    of = examination(DRAWN)
    photographed(of, recipe=DRAWN)
    photographed(of, "ultraviolet", recipe=DRAWN)
    blank = photographed(of, "specular", recipe=WOVE, camera=Camera(exposure=0.02))
    reading = read("align", of)
    assert "1 of 2 photographs" in reading.sentence and "Specular light: " in reading.sentence
    assert not Alignment.objects.filter(photograph=blank).exists()


def test_a_person_who_nudged_is_not_overruled() -> None:
    of = examination(DRAWN)
    photographed(of, recipe=DRAWN)
    other = photographed(of, "ultraviolet", recipe=DRAWN)
    moved = nudge(other, [[0, 0]], [[30, 0]], PersonFactory())
    read("align", of)
    assert Alignment.objects.get().matrix == moved.matrix


def test_lights_of_one_light_alone_cannot_be_aligned() -> None:
    of = examination()
    photographed(of)
    with pytest.raises(CannotAsk, match="in normal light only"):
        ask("align", of, "recto", None)


def test_laid_paper_is_read_and_corrected() -> None:
    of = examination()
    used = photographed(of, "transmitted")
    reading = read("paper", of)
    result = reading.result
    assert result is not None and result["make"] == "laid"
    assert result["photograph"] == str(used.pk)
    per_cm = result["laid_per_cm"]
    assert per_cm["value"] == pytest.approx(RECIPE.laid_per_cm, abs=max(4 * per_cm["u"], 0.05))
    truth = RECIPE.chain_offsets_mm()
    assert [one["offset_mm"] for one in result["chains"]] == pytest.approx(truth, abs=0.8)
    assert "chain lines" in reading.sentence and "±" in reading.sentence

    person = PersonFactory()
    kept = [one["offset_mm"] for one in result["chains"]][:-1]
    correct(reading, person, {"chains_mm": kept}, "The last is the edge.")
    reading = Reading.objects.get(pk=reading.pk)
    assert reading.stands is not None and len(reading.stands["chains"]) == len(kept)
    assert len(reading.stands["intervals"]) == len(kept) - 1
    assert reading.stands["photograph"] == str(used.pk)
    for changes, said in (
        ({"chains_mm": [1.0, 1.2]}, "less than 1 mm apart"),
        ({"chains_mm": "many"}, "numbers"),
        ({"chains_mm": [None]}, "numbers"),
        ({"colour": "blue"}, "Of the paper can be corrected"),
        ({}, "Of the paper can be corrected"),
    ):
        with pytest.raises(CannotCorrect, match=said):
            correct(reading, person, changes)


def test_wove_paper_is_read_as_wove() -> None:
    of = examination(WOVE)
    photographed(of, "transmitted", recipe=WOVE)
    reading = read("paper", of)
    assert reading.result is not None and reading.result["make"] == "wove"


def test_raking_light_is_read_where_the_light_from_behind_shows_nothing() -> None:
    of = examination()
    photographed(of, "transmitted", camera=Camera(exposure=0.004))
    used = photographed(of, "raking", azimuth_deg=0.0)
    photographed(of, "raking", azimuth_deg=90.0)
    reading = read("paper", of)
    assert reading.result is not None
    assert reading.result["light"] == "raking" and reading.result["make"] == "laid"
    assert reading.result["photograph"] == str(used.pk)


def sheet_on(mould: int, at_mm: float, seed: int) -> SheetRecipe:
    return SheetRecipe(
        seed=seed, width_mm=180, height_mm=90, laid_per_cm=9.0 + 0.7 * (mould % 3), chain_mm=22.0,
        chain_jitter_mm=0.9, mould=Mould(mould, at_mm),
    )  # fmt: skip


def test_of_many_sheets_the_one_of_the_same_mould_comes_first(
    django_assert_num_queries: Any,
) -> None:
    made = {}
    for name, recipe in {
        "one": sheet_on(3, 0, 1), "mate": sheet_on(3, 30, 2),
        "other": sheet_on(4, 0, 3), "third": sheet_on(5, 10, 4),
    }.items():  # fmt: skip
        made[name] = examination(recipe)
        photographed(made[name], "transmitted", recipe=recipe)
        read("paper", made[name])
    # The same object once more is no mate of itself.
    again = examination(sheet_on(3, 0, 1), object=made["one"].object)
    photographed(again, "transmitted", recipe=sheet_on(3, 0, 1))
    read("paper", again)
    with django_assert_num_queries(3):
        mates = mates_of(made["one"])
    assert mates[0].examination == made["mate"]
    assert all(one.examination != again for one in mates)
    assert mates[0].likeness.log_ratio > 3 and mates[0].words
    for one, other in itertools.pairwise(mates):
        assert one.likeness.log_ratio >= other.likeness.log_ratio


def test_a_sheet_that_was_not_read_has_no_mates() -> None:
    assert mates_of(examination()) == []


def test_relief_is_read_from_raking_light_and_suggestions_can_be_dismissed() -> None:
    crease = Mark("hard-fold", ((20, 50), (100, 50)), strength=1.0)
    creased = replace(WOVE, marks=(crease,))
    of = examination(creased)
    for azimuth in (0.0, 120.0, 240.0):
        photographed(of, "raking", recipe=creased, azimuth_deg=azimuth)
    reading = read("relief", of)
    assert set(reading.pictures) == {"shaded", "depth"}
    result = reading.result
    assert result is not None and result["azimuths_deg"] == [0.0, 120.0, 240.0]
    rows, columns = picture(reading, "shaded").shape[:2]
    assert columns == pytest.approx(result["px_per_mm"] * creased.width_mm, abs=1)
    assert rows == pytest.approx(result["px_per_mm"] * creased.height_mm, abs=1)
    assert any(abs(y - 50) < 3 for mark in result["marks"] for _, y in mark["points"])
    person = PersonFactory()
    correct(reading, person, {"dismiss": [0]})
    reading = Reading.objects.get(pk=reading.pk)
    assert reading.stands is not None and reading.stands["dismissed"] == [0]
    correct(reading, person, {"bring_back": [0]})
    assert (Reading.objects.get().stands or {})["dismissed"] == []
    for changes in ({}, {"dismiss": [999]}, {"dismiss": 0}, {"dismiss": [True]}, {"move": [0]}):
        with pytest.raises(CannotCorrect, match="by their place in its list"):
            correct(reading, person, changes)


def test_two_directions_show_their_difference_and_one_too_little() -> None:
    of = examination(WOVE)
    photographed(of, "raking", recipe=WOVE, azimuth_deg=0.0)
    with pytest.raises(CannotAsk, match=r"from two sides at least.*this side has 1"):
        ask("relief", of, "recto", None)
    photographed(of, "raking", recipe=WOVE, azimuth_deg=90.0)
    assert set(read("relief", of).pictures) == {"difference"}


def test_a_watermark_is_brought_out() -> None:
    of = examination(DRAWN)
    photographed(of, "transmitted", recipe=DRAWN)
    photographed(of, "normal", recipe=DRAWN)
    reading = read("watermark", of)
    assert reading.result is not None and reading.result["without_drawing"]
    columns = picture(reading, "enhanced").shape[1]
    assert columns == pytest.approx(reading.result["px_per_mm"] * DRAWN.width_mm, abs=1)


@pytest.mark.parametrize(("brightener", "expected"), [(0.0, False), (0.8, True)])
def test_a_brightener_is_told_by_its_answer_to_the_lamp(brightener: float, expected: bool) -> None:
    stain = Mark("local-stain", rectangle(60, 40, 80, 55), strength=1.0)
    recipe = replace(WOVE, brightener=brightener, marks=(stain,))
    of = examination(recipe)
    photographed(of, "ultraviolet", recipe=recipe, camera=Camera(exposure=0.6))
    photographed(of, "normal", recipe=recipe)
    reading = read("ultraviolet", of)
    assert reading.result is not None and reading.result["brightener"] is expected
    assert reading.sentence == reading.result["sentence"]


def test_colour_needs_a_target_and_says_so() -> None:
    of = examination()
    photographed(of)
    given = {"photograph": str(of.photographs.get().pk), "chart": "port-ellery"}
    for told in (None, given, given | {"corners": [[1, 1]] * 3}, given | {"corners": "four"}):
        with pytest.raises(CannotAsk, match="Tap the four corners of the colour target"):
            ask("colour", of, "recto", None, told)
    corners = [[10, 10], [150, 10], [150, 80], [10, 80]]
    with pytest.raises(CannotAsk, match=r"The targets known here are .*port-ellery"):
        ask("colour", of, "recto", None, given | {"chart": "unknown", "corners": corners})
    reading = ask("colour", of, "recto", None, given | {"corners": corners})
    assert reading.state == Reading.State.FAILED
    assert "Tap its corners again" in reading.sentence
    with pytest.raises(CannotAsk, match="needs nothing but the photographs"):
        ask("align", of, "recto", None, {"corners": corners})
