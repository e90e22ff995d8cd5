"""What changed since an earlier examination: shown beside it, numbered, and judged by a person."""

import json
import re
from datetime import timedelta

import pytest
from django.urls import reverse

from survey.desk.growth_words import growth_in_words
from survey.examination.models import Measurement, Observation, Photograph
from survey.reading.models import Reading
from survey.sync.models import Change
from tests.desk.conftest import text_of
from tests.desk.readings import TENTH_MM, photographed, read
from tests.factories import ObservationFactory, TermFactory

pytestmark = pytest.mark.django_db

PICTURES = {"earlier": "1" * 64, "later": "2" * 64, "map": "3" * 64}
LINE = {
    "kind": "line",
    "points": [[30.0, 20.0], [62.0, 22.0], [62.0, 23.0], [30.0, 21.0]],
    "area_mm2": 32.4,
    "area_u_mm2": 9.7,
    "length_mm": 32.1,
    "length_u_mm": 1.1,
    "percent": -21.3,
    "percent_u": 3.4,
    "strength": 10.4,
    "words": "a line, darker than before",
}
AREA = LINE | {
    "kind": "area",
    "points": [[100.0, 50.0], [120.0, 50.0], [120.0, 70.0]],
    "area_mm2": 200.0,
    "area_u_mm2": 14.2,
    "length_mm": None,
    "length_u_mm": None,
    "percent": 2.2,
    "percent_u": 0.0,
    "words": "lighter than before",
}
GROWTH = {
    "kind": "line",
    "earlier": [12.4, 0.3],
    "later": [18.1, 0.4],
    "change": [5.7, 0.38],
    "is_whole": True,
    "points": [[30.0, 20.0], [40.0, 21.0], [48.0, 21.0]],
}


@pytest.fixture
def twice():
    """An examination, and one of the same object two years before it."""
    now = photographed("normal", "raking", signed=False)
    before = photographed("normal")
    before.object = now.object
    before.started_at = now.started_at - timedelta(days=730)
    before.save()
    Photograph.objects.filter(examination=before).update(taken_at=before.started_at)
    return before, now


def compared(twice, *regions, light="normal", **values):
    before, now = twice
    photographs = [before.photographs.get(), now.photographs.get(light=light)]
    result = {
        "width_mm": 310.0,
        "height_mm": 225.0,
        "px_per_mm": 4.0,
        "light": light,
        "azimuth_deg": None,
        "earlier": str(photographs[0].pk),
        "later": str(photographs[1].pk),
        "apart_mm": 0.62,
        "regions": list(regions),
    }
    return read(
        now,
        "changes",
        **{
            "given": {"light": light},
            "photographs": [str(one.pk) for one in photographs],
            "placed": {str(one.pk): TENTH_MM for one in photographs[:1]},
            "result": result,
            "pictures": PICTURES,
            "sentence": f"{len(regions)} places differ from the earlier photograph.",
            **values,
        },
    )


def page_of(client, examination, **query):
    return client.get(reverse("desk:changes", args=[examination.pk]), query)


def send(client, what, reading, place, **fields):
    given = {"kind": "changes", "side": "recto", "light": "normal", "reading": reading.pk}
    address = reverse(f"desk:{what}", args=[reading.examination.pk])
    return client.post(address, given | {"place": place} | fields, follow=True)


def test_places_are_numbered_with_their_sizes_and_uncertainties(desk, twice):
    reading = compared(twice, LINE, AREA)
    answer = page_of(desk, reading.examination)
    page = text_of(answer)
    assert "1. A line, darker than before" in page
    assert "32 ± 1 mm long, 32 ± 10 mm²; in its middle 21.3 ± 3.4 % darker" in page
    assert "200 ± 14 mm²; in its middle 2.2 ± 0.1 % lighter" in page
    assert "moved within itself by up to 0.6 mm" in page
    assert "It advises; the conservator decides." in page
    html = answer.content.decode()
    assert html.count('class="core"') == 2 and "Difference map" in html
    shown = json.loads(re.search(r'id="sheet-view-photographs"[^>]*>(.*?)</script>', html)[1])
    assert [one["id"] for one in shown] == ["earlier", "later", "map"]
    assert shown[0]["homography"][0] == 0.25
    assert shown[0]["name"].startswith("Earlier, ")
    outlines = json.loads(re.search(r'id="sheet-view-observations"[^>]*>(.*?)</script>', html)[1])
    assert [one["number"] for one in outlines] == [1, 2]


def test_nothing_found_is_said_and_sends_the_eye_to_the_sheet(desk, twice):
    reading = compared(twice)
    page = text_of(page_of(desk, reading.examination))
    assert "No place stands out." in page and "look at the sheet itself" in page


def test_an_observation_is_made_of_a_place_under_its_light(desk, twice):
    reading = compared(twice, LINE)
    term = TermFactory(lights=["normal"])
    answer = send(desk, "observe", reading, 0, term=term.pk, nature="damage")
    made = Observation.objects.get()
    assert (made.lights, made.side, made.nature) == (["normal"], "recto", "damage")
    assert made.region == {"kind": "polygon", "points": LINE["points"]}
    assert "Observation 1" in text_of(answer)


def test_a_measured_change_is_told_and_stored_with_the_observation(desk, twice):
    reading = compared(twice, LINE | {"growth": GROWTH})
    page = text_of(page_of(desk, reading.examination))
    assert "Earlier 12.4 ± 0.3 mm, later 18.1 ± 0.4 mm: 5.7 ± 0.4 mm longer." in page
    term = TermFactory(name="Tear", lights=["normal"])
    send(desk, "observe", reading, 0, term=term.pk, nature="damage")
    made = Observation.objects.get()
    assert made.note.startswith("Against ") and made.note.endswith("5.7 ± 0.4 mm longer.")
    measured = made.measurements.get()
    assert (measured.what, measured.value, measured.uncertainty) == ("Length of tear", 18.1, 0.4)
    assert measured.unit == "mm" and measured.points == GROWTH["points"]
    assert str(measured.photograph_id) == reading.result["later"]
    assert Change.objects.filter(entity="measurement", entity_id=str(measured.pk)).exists()


def test_what_cannot_be_measured_says_so_and_gives_no_measurement(desk, twice):
    reading = compared(twice, LINE | {"growth": {"sentence": "Its ends were not found."}})
    page = text_of(page_of(desk, reading.examination))
    # How far the photographs differ, and why the thing itself has no size, are told as one.
    assert "What differs is 32 ± 1 mm long, 32 ± 10 mm²; " in page
    assert "is told. Of the mark itself: its ends were not found." in page
    send(desk, "observe", reading, 0, term=TermFactory(lights=["normal"]).pk)
    made = Observation.objects.get()
    assert made.note == "" and not made.measurements.exists()


def test_what_was_noted_before_is_measured_again_and_keeps_its_term(desk, twice):
    before, _ = twice
    tear = TermFactory(name="Tear", lights=["transmitted"])
    noted = ObservationFactory(examination=before, term=tear)
    place = {
        "kind": "line",
        "points": LINE["points"],
        "words": "Tear",
        "growth": GROWTH,
        "noted": {"observation": str(noted.pk), "name": "Tear"},
    }
    reading = compared(twice, AREA, place)
    answer = page_of(desk, reading.examination)
    page = text_of(answer)
    assert "Noted before, measured again" in page and "2. Tear" in page
    assert "Tear, as before" in page
    answer = send(desk, "observe", reading, 1, term=tear.pk, nature="damage")
    made = Observation.objects.get(examination=reading.examination)
    # It lies where it reaches now, not where it was outlined.
    assert made.region != {"kind": "polygon", "points": LINE["points"]}
    assert made.measurements.get().value == 18.1
    assert "Observation 1" in text_of(answer)


def test_a_refused_measurement_leaves_no_observation_behind(desk, twice):
    wrong = GROWTH | {"later": [18.1, 0.4], "points": [["x"]]}
    reading = compared(twice, LINE | {"growth": wrong})
    send(desk, "observe", reading, 0, term=TermFactory(lights=["normal"]).pk)
    assert not Observation.objects.exists() and not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"earlier": None}, "Not seen in the earlier photograph, later 18.1 ± 0.4 mm."),
        ({"is_whole": False}, "5.7 ± 0.4 mm longer. Where its older part begins"),
        ({"change": [-5.7, 0.4]}, "5.7 ± 0.4 mm shorter."),
        ({"change": [0.5, 0.4]}, "0.5 ± 0.4 mm longer, which is within twice the uncertainty."),
        (
            {"kind": "area", "earlier": [120.0, 6.3], "later": [154.2, 7.1], "change": [34.2, 5.0]},
            "Earlier 120 ± 6 mm², later 154 ± 7 mm²: 34 ± 5 mm² larger.",
        ),
    ],
)
def test_growth_in_words(values, words):
    assert words in growth_in_words(GROWTH | values)


def test_a_place_is_dismissed_with_a_reason_and_brought_back(desk, twice):
    reading = compared(twice, LINE, AREA)
    answer = send(desk, "dismiss", reading, 1, reason="a fold of the blotter")
    assert "Dismissed: a fold of the blotter" in text_of(answer)
    assert reading.correction.changes == {"dismiss": [1]}
    assert "Dismissed" not in text_of(send(desk, "dismiss", reading, 1, back="yes"))


def test_a_place_is_not_dismissed_without_a_reason(desk, twice):
    reading = compared(twice, LINE)
    answer = send(desk, "dismiss", reading, 0, reason=" ")
    assert "Say in a few words why it is nothing" in text_of(answer)
    assert reading.correction is None


def test_a_signed_examination_takes_no_observation(desk, twice):
    _, now = twice
    now.signed_at = now.started_at
    now.signed_name = "Wren Halloway"
    now.save()
    reading = compared(twice, LINE)
    page = text_of(page_of(desk, now))
    assert "What you accept is added to it as an amendment" in page
    assert "Make an observation" not in page
    send(desk, "observe", reading, 0, term=TermFactory(lights=["normal"]).pk)
    assert not Observation.objects.exists()


def test_each_light_has_its_own_comparison(desk, twice):
    _, now = twice
    compared(twice, LINE)
    raking = text_of(page_of(desk, now, light="raking"))
    assert "A line, darker than before" not in raking
    assert "No earlier examination of this object has a photograph of this side" in raking
    assert "A line, darker than before" in text_of(page_of(desk, now, light="normal"))


def test_it_is_asked_for_against_the_earlier_photograph_that_was_chosen(desk, twice):
    before, now = twice
    page = page_of(desk, now)
    assert "Compare with it" in text_of(page)
    key = str(before.photographs.get().pk)
    assert key in page.content.decode()
    address = reverse("desk:compare", args=[now.pk])
    asked = {"side": "recto", "light": "normal", "earlier": key}
    answer = desk.post(address, asked, follow=True)
    # Two plain grey pictures, read at once: nothing differs.
    assert "No place stands out." in text_of(answer) and "Compare again" in text_of(answer)
    reading = Reading.objects.get()
    assert reading.given == {"light": "normal", "earlier": key}
    assert reading.photographs[0] == key
    Reading.objects.update(state=Reading.State.WAITING)
    assert "data-reading" in page_of(desk, now).content.decode()
    again = desk.post(address, asked | {"light": "raking", "earlier": ""}, follow=True)
    assert Reading.objects.get() == reading
    assert "Another light of this side is being compared" in text_of(again)


def test_it_says_what_is_missing_without_an_earlier_examination(desk):
    alone = photographed("normal", signed=False)
    page = text_of(page_of(desk, alone))
    assert "Changes: cannot be read yet." in page
    assert "the same light, the lamp at the same place" in page
    answer = desk.post(reverse("desk:compare", args=[alone.pk]), {"light": "normal"}, follow=True)
    assert "No earlier examination of this object" in text_of(answer)


def test_a_courier_sees_and_does_not_ask(courier_desk, twice):
    reading = compared(twice, LINE)
    page = text_of(page_of(courier_desk, reading.examination))
    assert "A line, darker than before" in page and "Dismiss" not in page
    assert "Compare again" not in page
    address = reverse("desk:compare", args=[reading.examination.pk])
    assert courier_desk.post(address, {"light": "normal"}).status_code == 403
