"""What changed since an earlier examination, read from rendered photographs of both."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import cv2
import numpy as np
import pytest
from django.utils import timezone

from survey.demo.sheet.camera import held_by_hand
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import Drawing, Mark
from survey.examination.models import Examination, Photograph
from survey.imaging.followed import length_of
from survey.imaging.geometry import mapped
from survey.imaging.outlines import around
from survey.reading.models import Alignment, Reading
from survey.reading.placement import as_matrix
from survey.reading.queries import lies_now, lies_of, outdated
from survey.reading.services import CannotAsk, CannotCorrect, ask, ask_all, correct, set_geometry
from tests.factories import ExaminationFactory, ObservationFactory, PersonFactory
from tests.reading.sheets import RECIPE, WOVE, photographed

pytestmark = pytest.mark.django_db

DRAWN = replace(RECIPE, drawing=Drawing("landscape", "pen-brown-ink", (12, 12, 108, 88)))
OUTLINE = ((30.0, 40.0), (42.0, 38.0), (46.0, 48.0), (36.0, 54.0), (28.0, 48.0))
STAINED = replace(DRAWN, marks=(Mark("local-stain", OUTLINE, strength=0.9),))
TEAR = tuple((60.0 + 0.4 * (step % 2), 100.0 - 4.0 * step) for step in range(8))
TORN = replace(DRAWN, marks=(Mark("tear", TEAR[:5], strength=0.7),))
TORN_ON = replace(DRAWN, marks=(Mark("tear", TEAR, strength=0.7),))


@pytest.fixture
def twice() -> tuple[Examination, Examination]:
    """Two examinations of one object, two years apart."""
    size = {"sheet_width_mm": 120.0, "sheet_height_mm": 100.0}
    then = timezone.now() - timedelta(days=730)
    before = ExaminationFactory(started_at=then, **size)
    return before, ExaminationFactory(object=before.object, **size)


def by_hand(word: str) -> Any:
    return held_by_hand(stream(5, word), tilt=0.02)


def read(of: Examination, given: Any = None) -> Reading:
    return ask("changes", of, "recto", PersonFactory(), given)


def test_a_new_stain_is_found_where_it_is_on_the_sheet(twice: Any) -> None:
    before, now = twice
    first = photographed(before, recipe=DRAWN, camera=by_hand("one"))
    second = photographed(now, recipe=STAINED, camera=by_hand("two"), placed=False)
    reading = read(now)
    assert reading.state == Reading.State.DONE, reading.sentence
    assert reading.photographs == [str(first.pk), str(second.pk)]
    assert set(reading.pictures) == {"earlier", "later", "map"}
    strongest = reading.result["regions"][0]
    outline = np.array(strongest["points"], dtype=np.float32)
    assert cv2.pointPolygonTest(outline, (36.0, 45.0), False) > 0
    x, y, wide, high = cv2.boundingRect(outline)
    assert (x, y, x + wide, y + high) == pytest.approx((28, 38, 46, 54), abs=2.5)
    assert strongest["percent"] < -5 and strongest["percent_u"] > 0
    assert strongest["area_u_mm2"] > 0
    assert "differ" in reading.sentence


def test_what_was_compared_lies_where_the_comparison_found_it(twice: Any) -> None:
    before, now = twice
    now.sheet_width_mm, now.sheet_height_mm = 121.2, 101.0
    now.save()
    first = photographed(before, recipe=DRAWN, camera=by_hand("one"))
    second = photographed(now, recipe=STAINED, camera=by_hand("two"))
    truly = second.homography
    Photograph.objects.filter(pk=second.pk).update(homography=None)
    raking = photographed(now, "raking", azimuth_deg=90.0, placed=False)
    Alignment.objects.create(photograph=raking, onto=second, matrix=[1, 0, 9, 0, 1, 0, 0, 0, 1])
    assert lies_of(now) == {}
    reading = read(now)
    lies = lies_of(now)
    lie = lies[second.pk]
    assert lie.compared and lie.aligned and not lie.by_scale
    corners = [(100.0, 100.0), (600.0, 110.0), (590.0, 500.0), (300.0, 300.0)]
    assert mapped(lie.matrix, corners) == pytest.approx(
        mapped(as_matrix(truly), corners) * 1.01, abs=0.15
    )
    # What lies on it is found as well.
    assert mapped(lies[raking.pk].matrix, [(1.0, 2.0)]) == pytest.approx(
        mapped(lie.matrix, [(10.0, 2.0)])
    )
    # It is no reason to read anew, and a person's placing counts first.
    assert not outdated(reading, lies_now(reading, together=True))
    again = read(now)
    assert str(second.pk) not in again.placed
    Photograph.objects.filter(pk=second.pk).update(homography=truly)
    assert not lies_of(now)[second.pk].compared
    # Where the earlier one lies by a scale alone, so does this; where it is gone, nothing tells.
    Photograph.objects.filter(pk=second.pk).update(homography=None)
    Photograph.objects.filter(pk=first.pk).update(placing={"kind": "scale"})
    assert lies_of(now)[second.pk].by_scale
    Photograph.objects.filter(pk=first.pk).update(deleted_at=timezone.now())
    assert lies_of(now) == {}


def test_a_comparison_leads_on_to_the_next(twice: Any) -> None:
    before, now = twice
    photographed(before, recipe=DRAWN)
    middle = ExaminationFactory(
        object=before.object,
        started_at=before.started_at + timedelta(days=300),
        sheet_width_mm=120.0,
        sheet_height_mm=100.0,
    )
    second = photographed(middle, recipe=DRAWN, placed=False)
    read(middle)
    third = photographed(now, recipe=DRAWN, camera=by_hand("two"))
    truly = third.homography
    Photograph.objects.filter(pk=third.pk).update(homography=None)
    assert read(now).photographs == [str(second.pk), str(third.pk)]
    middles = [(300.0, 300.0), (400.0, 200.0)]
    found = mapped(lies_of(now)[third.pk].matrix, middles)
    assert found == pytest.approx(mapped(as_matrix(truly), middles), abs=0.15)


def test_what_was_observed_before_is_measured_again(twice: Any) -> None:
    before, now = twice
    photographed(before, recipe=TORN, camera=by_hand("one"))
    photographed(now, recipe=TORN_ON, camera=by_hand("two"))
    region = {"kind": "polygon", "points": [list(one) for one in around(TEAR[:5], 1.5)]}
    noted = ObservationFactory(examination=before, region=region)
    ObservationFactory(examination=before, region=region, side="verso")
    reading = read(now)
    assert reading.state == Reading.State.DONE, reading.sentence
    place = next(one for one in reading.result["regions"] if "noted" in one)
    assert place["noted"] == {"observation": str(noted.pk), "name": noted.term.name}
    change, uncertainty = place["growth"]["change"]
    truly = length_of(np.array(TEAR)) - length_of(np.array(TEAR[:5]))
    assert abs(change - truly) < 2 * uncertainty < 3.0
    assert len([one for one in reading.result["regions"] if "noted" in one]) == 1


def test_the_same_sheet_gives_no_suggestion(twice: Any) -> None:
    before, now = twice
    photographed(before, recipe=DRAWN, camera=by_hand("one"))
    photographed(now, recipe=DRAWN, camera=by_hand("two"))
    reading = read(now)
    assert reading.result["regions"] == []
    assert reading.sentence.startswith("Nothing stands out")


def test_the_last_earlier_photograph_is_taken_unless_another_one_is_named(twice: Any) -> None:
    before, now = twice
    older = ExaminationFactory(
        object=before.object,
        started_at=before.started_at - timedelta(days=300),
        sheet_width_mm=120.0,
        sheet_height_mm=100.0,
    )
    first = photographed(older, recipe=DRAWN)
    second = photographed(before, recipe=DRAWN, camera=by_hand("one"))
    third = photographed(now, recipe=DRAWN, camera=by_hand("two"))
    assert read(now).photographs == [str(second.pk), str(third.pk)]
    named = read(now, {"light": "normal", "earlier": str(first.pk)})
    assert named.photographs == [str(first.pk), str(third.pk)]


def test_millimetres_are_those_of_this_examination(twice: Any) -> None:
    before, now = twice
    now.sheet_width_mm, now.sheet_height_mm = 121.2, 101.0
    now.save()
    photographed(before, recipe=DRAWN, camera=by_hand("one"))
    photographed(now, recipe=STAINED, camera=by_hand("two"))
    points = np.array(read(now).result["regions"][0]["points"])
    assert points.mean(axis=0) == pytest.approx((37.0 * 1.01, 46.0 * 1.01), abs=2.0)


@pytest.mark.parametrize(
    ("earlier", "later", "given", "says"),
    [
        ({}, None, {}, "no photograph under normal light on this examination"),
        (None, {}, {}, "No earlier examination of this object has"),
        ({"placed": False}, {}, {}, "that lies on the sheet"),
        ({"here": False, "recipe": DRAWN}, {}, {}, "No earlier examination"),
        ({"light": "transmitted"}, {}, {}, "No earlier examination"),
        ({"side": "verso"}, {}, {}, "No earlier examination"),
        (
            {"light": "raking", "azimuth_deg": 0.0},
            {"light": "raking", "azimuth_deg": 90.0},
            {"light": "raking"},
            "with the lamp at the same place",
        ),
        ({}, {}, {"light": "moonlight"}, "under which light"),
        ({}, {}, {"earlier": "that one"}, "by its key"),
        ({}, {}, {"earlier": "01890000-0000-7000-8000-000000000000"}, "Choose another one"),
    ],
)
def test_it_says_why_it_cannot_be_asked(
    twice: Any, earlier: Any, later: Any, given: Any, says: str
) -> None:
    before, now = twice
    if earlier is not None:
        photographed(before, **earlier)
    if later is not None:
        photographed(now, **later)
    with pytest.raises(CannotAsk, match=says):
        read(now, given)


def test_a_lamp_a_little_beside_counts_as_the_same(twice: Any) -> None:
    before, now = twice
    photographed(before, "raking", azimuth_deg=355.0, recipe=DRAWN)
    photographed(now, "raking", azimuth_deg=3.0, recipe=DRAWN)
    assert read(now, {"light": "raking"}).state == Reading.State.DONE


def test_different_sheets_are_told_in_words(twice: Any) -> None:
    before, now = twice
    photographed(before, recipe=DRAWN)
    other = replace(WOVE, drawing=Drawing("harbour", "graphite", (8, 8, 112, 92)))
    photographed(now, recipe=other)
    reading = read(now)
    assert reading.state == Reading.State.FAILED
    assert "same side of the same sheet" in reading.sentence


def test_a_sheet_of_another_size_is_told_in_words(twice: Any) -> None:
    before, now = twice
    before.sheet_width_mm = 140.0
    before.save()
    photographed(before)
    photographed(now)
    reading = read(now)
    assert reading.state == Reading.State.FAILED
    assert "140 × 100 mm on the earlier examination" in reading.sentence


def test_it_is_asked_for_once_until_the_earlier_photograph_lies_otherwise(twice: Any) -> None:
    before, now = twice
    first = photographed(before, recipe=DRAWN)
    photographed(now, recipe=DRAWN)
    asked = [one for one in ask_all(now, None) if one.kind == "changes"]
    assert len(asked) == 1
    assert not [one for one in ask_all(now, None) if one.kind == "changes"]
    corners = [[60, 60], [660, 60], [660, 560], [60, 560]]
    set_geometry(first, PersonFactory(), corners=corners)
    [reading] = Reading.objects.filter(kind="changes")
    assert outdated(reading, lies_now(reading, together=True))


def test_suggestions_are_dismissed_and_brought_back(twice: Any) -> None:
    before, now = twice
    photographed(before, recipe=DRAWN, camera=by_hand("one"))
    photographed(now, recipe=STAINED, camera=by_hand("two"))
    reading = read(now)
    person = PersonFactory()
    made = correct(reading, person, {"dismiss": [0]}, "a shadow")
    assert made.result["dismissed"] == [0] and made.reason == "a shadow"
    with pytest.raises(CannotCorrect):
        correct(reading, person, {"dismiss": [99]})
