"""The renderer can draw all it says it can, and the same each time."""

import json
from functools import cache

import numpy as np
import pytest

from survey.demo.sheet.camera import Camera, frame_of, jpeg
from survey.demo.sheet.marks import STAMPS
from survey.demo.sheet.noise import stream
from survey.demo.sheet.pen import MEDIA
from survey.demo.sheet.placing import PLACERS, place
from survey.demo.sheet.recipe import Drawing, Mark, SheetRecipe, Watermark
from survey.demo.sheet.render import build, render
from survey.demo.sheet.subjects import SUBJECTS
from survey.demo.sheet.target import target_card
from survey.demo.sheet.truth import region_of, truth_of
from survey.demo.sheet.watermarks import MOTIFS
from survey.imaging.chart import FOLDER, load_chart
from survey.imaging.colour import read_target
from survey.vocabulary.queries import vocabulary
from tests.demo.sheets import EXACT, plain

SIZE = (110.0, 90.0)
DRAWN = Drawing("landscape", "pen-and-wash", (10, 10, 100, 80))


def small(**changed: object) -> SheetRecipe:
    return plain(width_mm=SIZE[0], height_mm=SIZE[1], **changed)


@cache
def picture(light: str, side: str, marks: tuple[Mark, ...] = ()) -> np.ndarray:
    sheet = build(small(drawing=DRAWN, marks=marks), 3.0)
    shot = render(sheet, light, side=side, azimuth_deg=300, camera=EXACT)
    return shot.astype(int)


@pytest.mark.parametrize("term", sorted(PLACERS))
def test_every_mark_shows_under_some_light(term: str) -> None:
    marks = tuple(place(term, stream(1, term), SIZE, 0.9))
    assert any(
        np.abs(picture(light, marks[0].side, marks) - picture(light, marks[0].side)).max() > 12
        for light in ("normal", "raking", "transmitted", "specular", "ultraviolet")
    )


@pytest.mark.parametrize("term", sorted(PLACERS))
@pytest.mark.parametrize("seed", range(4))
def test_every_mark_is_placed_within_the_sheet(term: str, seed: int) -> None:
    for size in ((110.0, 90.0), (240.0, 330.0)):
        for mark in place(term, stream(seed, term), size, 1.0):
            for x, y in region_of(mark, *size):
                assert 0 <= x <= size[0]
                assert 0 <= y <= size[1]


def test_every_mark_that_can_be_drawn_is_a_term_of_the_vocabulary(db: None) -> None:
    known = {term["code"] for term in vocabulary()["terms"]}
    assert set(STAMPS) <= known
    assert set(PLACERS) <= set(STAMPS)


@pytest.mark.parametrize("subject", sorted(SUBJECTS))
def test_every_subject_can_be_drawn_in_ink_chalk_and_colour(subject: str) -> None:
    bare = build(small(), 2.0).media["recto"]
    for medium in ("pen-brown-ink", "black-chalk", "watercolour"):
        drawing = Drawing(subject, medium, (10, 10, 100, 80))
        drawn = build(small(drawing=drawing), 2.0).media["recto"]
        assert (drawn - bare).max() > 0.2


@pytest.mark.parametrize("medium", sorted(MEDIA))
def test_every_medium_darkens_the_paper(medium: str) -> None:
    drawing = Drawing("vessels", medium, (10, 10, 100, 80))
    assert build(small(drawing=drawing), 2.0).media["recto"].max() > 0.2


@pytest.mark.parametrize("motif", sorted(MOTIFS))
def test_every_watermark_thins_the_paper(motif: str) -> None:
    without = build(small(make="wove"), 4.0)
    with_mark = build(small(make="wove", watermark=Watermark(motif, 55, 45, 40)), 4.0)
    thinned = with_mark.thickness / without.thickness
    assert thinned.min() < 0.85
    assert np.median(thinned) == pytest.approx(1)


def test_the_same_recipe_gives_the_same_bytes() -> None:
    recipe = small(drawing=DRAWN, marks=tuple(place("foxing", stream(2, "a"), SIZE, 0.7)))

    def shot() -> bytes:
        return jpeg(render(build(recipe, 4.0), "raking", azimuth_deg=270, camera=Camera()), 4.0)

    first = shot()
    assert first == shot()
    assert first[:3] == b"\xff\xd8\xff"


def test_another_seed_gives_another_sheet() -> None:
    one, other = (build(small(seed=seed), 2.0).thickness for seed in (1, 2))
    assert np.abs(one - other).max() > 0.001


def test_a_sheet_is_the_same_thing_at_any_resolution() -> None:
    """Chain lines and clouds keep their millimetres: the coarse map is the fine one, averaged."""
    recipe = small(chain_shadow=0.8)
    coarse, fine = build(recipe, 2.0).thickness, build(recipe, 4.0).thickness
    averaged = fine.reshape(coarse.shape[0], 2, coarse.shape[1], 2).mean(axis=(1, 3))
    assert np.corrcoef(coarse.ravel(), averaged.ravel())[0, 1] > 0.9


def test_the_truth_can_be_kept_as_json() -> None:
    sheet = build(small(drawing=DRAWN, watermark=Watermark("bell", 55, 45, 30)), 2.0)
    truth = truth_of(sheet, "verso")
    assert json.loads(json.dumps(truth))["recipe"]["watermark"]["motif"] == "bell"


@pytest.mark.parametrize(
    ("recipe", "word"),
    [
        (small(marks=(Mark("no-such-term", ((0, 0), (1, 1), (1, 0))),)), "no-such-term"),
        (small(drawing=Drawing("unicorn", "etching", (0, 0, 50, 50))), "unicorn"),
        (small(drawing=Drawing("head", "butter", (0, 0, 50, 50))), "butter"),
        (small(watermark=Watermark("dragon", 50, 50, 30)), "dragon"),
    ],
)
def test_what_it_cannot_draw_it_names(recipe: SheetRecipe, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        build(recipe, 2.0)


def test_it_knows_no_sixth_light() -> None:
    with pytest.raises(ValueError, match="infrared"):
        render(build(small(), 2.0), "infrared")


def test_a_sheet_without_size_is_refused() -> None:
    with pytest.raises(ValueError, match="greater than 0 mm"):
        small(seed=1).__class__(seed=1, width_mm=0, height_mm=20)


def test_the_colour_target_beside_the_sheet_reads_as_what_it_is() -> None:
    recipe = SheetRecipe(seed=12, width_mm=170.0, height_mm=120.0)
    pixels = render(build(recipe, 8.0), "normal")
    frame = frame_of((170.0, 120.0), (960, 1360), 8.0, "recto", Camera())
    card = target_card(frame)
    assert card is not None
    rows, columns = card[1]
    corners = [(x, y) for y in (rows.start, rows.stop) for x in (columns.start, columns.stop)]
    chart = load_chart(FOLDER / "port-ellery.json")
    colour = read_target(pixels, np.array([corners[i] for i in (0, 1, 3, 2)], float), chart)
    assert colour.after.mean < 1.5


def test_no_target_lies_where_the_frame_has_no_room() -> None:
    assert target_card(frame_of((60.0, 120.0), (960, 480), 8.0, "recto", Camera())) is None
