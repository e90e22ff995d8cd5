"""What relief and ultraviolet suggest: drawn, numbered, and made an observation by a person."""

import pytest
from django.urls import reverse

from survey.examination.models import Observation
from survey.sync.models import Change
from tests.desk.conftest import text_of
from tests.desk.readings import photographed, read
from tests.factories import TermFactory, examined

pytestmark = pytest.mark.django_db

SHADED = "5" * 64
MARKS = [
    {
        "kind": "hollow",
        "words": "crease or fold, sunk on this side",
        "points": [[10.0, 20.0], [60.0, 25.0], [110.0, 20.0]],
        "length_mm": 100.4,
        "length_u_mm": 1.2,
        "strength": 12.0,
        "steepness": 3.4,
        "steep_known": True,
        "drawn": False,
    },
    {
        "kind": "plate",
        "words": "four steps in a rectangle: it may be a plate mark",
        "points": [[20, 20], [200, 20], [200, 180], [20, 180]],
        "length_mm": 680.0,
        "length_u_mm": 1.6,
        "strength": 8.0,
        "steepness": 0.0,
        "steep_known": False,
        "drawn": True,
    },
]

REGION = {
    "points": [[10, 10], [40, 10], [40, 30]],
    "area_mm2": 300.0,
    "area_u_mm2": 19.4,
    "ratio": 1.42,
    "uncertainty": 0.05,
    "words": "glows more: it may be a stain",
}
ULTRAVIOLET = {
    "response": "pale bluish",
    "sentence": "Read.",
    "sentences": ["Ink cannot be told from stain."],
    "regions": [REGION],
}


@pytest.fixture
def relief():
    examination = photographed("raking", "raking", "raking", "normal")
    result = {
        "width_mm": 310.0,
        "height_mm": 225.0,
        "px_per_mm": 4.0,
        "azimuths_deg": [45.0, 165.0, 285.0],
        "marks": MARKS,
        "sentences": [],
    }
    return read(examination, "relief", result=result, pictures={"shaded": SHADED})


def page_of(client, kind, examination):
    return client.get(reverse(f"desk:{kind}", args=[examination.pk]))


def send(client, what, reading, place, **fields):
    given = {"kind": reading.kind, "side": reading.side, "reading": reading.pk, "place": place}
    return client.post(
        reverse(f"desk:{what}", args=[reading.examination.pk]), given | fields, follow=True
    )


def test_marks_are_drawn_numbered_and_told_in_words(desk, relief):
    answer = page_of(desk, "relief", relief.examination)
    page = text_of(answer)
    assert "1. Crease or fold, sunk on this side" in page
    assert "100 ± 2 mm long, stands out 12 times the usual, slopes of 3.4°." in page
    assert "it may be the drawing’s own relief" in page
    content = answer.content.decode()
    assert 'viewBox="0 0 1240 900"' in content
    assert '<polyline class="core" points="40,80 240,100 440,80"/>' in content
    assert '<polygon class="core" points="80,80 800,80 800,720 80,720"/>' in content
    assert reverse("api-reading-picture", args=[SHADED]) in content


def test_an_observation_is_made_where_a_mark_lies(desk, relief, conservator):
    term = TermFactory(name="Crease", lights=["raking"])
    page = text_of(send(desk, "observe", relief, 0, term=term.pk, nature="damage"))
    seen = Observation.objects.get(examination=relief.examination)
    assert (seen.term, seen.nature, seen.side, seen.lights) == (term, "damage", "recto", ["raking"])
    across, down = zip(*seen.region["points"], strict=True)
    assert (min(across), max(across)) == pytest.approx((10, 110), abs=1)
    assert (min(down), max(down)) == pytest.approx((20, 25), abs=1)
    change = Change.objects.get(entity="observation", entity_id=str(seen.pk))
    assert change.person == conservator
    assert "An observation was made: Crease." in page and "Observation 1" in page


def test_a_signed_examination_takes_no_observation(desk, relief):
    signed = examined(object=relief.examination.object)
    relief.examination.signed_at = signed.signed_at
    relief.examination.signed_name = signed.signed_name
    relief.examination.save()
    assert "Make an observation of it" not in text_of(page_of(desk, "relief", relief.examination))
    page = text_of(send(desk, "observe", relief, 0, term=TermFactory().pk, nature="damage"))
    assert "signed this examination" in page
    assert not Observation.objects.exists()


def test_a_mark_of_a_reading_that_was_made_anew_is_not_taken_for_another(desk, relief):
    read(relief.examination, "relief", result=relief.result | {"marks": MARKS[::-1]})
    page = text_of(send(desk, "observe", relief, 0, term=TermFactory().pk, nature="damage"))
    assert "This was read again meanwhile." in page
    assert not Observation.objects.exists()


def test_a_courier_makes_no_observation(courier_desk, relief):
    assert send(courier_desk, "observe", relief, 0, term=TermFactory().pk).status_code == 403


def test_two_lamps_suggest_no_marks(desk):
    examination = photographed("raking", "raking")
    result = {"width_mm": 310.0, "height_mm": 225.0, "px_per_mm": 4.0, "marks": []}
    read(examination, "relief", result=result, pictures={"difference": SHADED})
    page = text_of(page_of(desk, "relief", examination))
    assert "The difference between the two lamps" in page
    assert "Marks to look at" not in page


def test_without_raking_light_it_says_how_to_take_it(desk):
    page = text_of(page_of(desk, "relief", photographed("normal")))
    assert "the lamp at about 45°, 165° and 285°, clockwise from the top edge" in page


def test_regions_are_told_with_their_ratio_and_its_uncertainty(desk):
    examination = photographed("ultraviolet", "normal")
    read(examination, "ultraviolet", result=ULTRAVIOLET)
    answer = page_of(desk, "ultraviolet", examination)
    assert "1.42 ± 0.05 times as bright as the paper around it; 300 ± 20 mm²" in text_of(answer)
    assert "Pale bluish. Ink cannot be told from stain." in text_of(answer)
    assert 'points="100,100 400,100 400,300"' in answer.content.decode()


def test_lamp_time_is_told_for_the_examination_and_the_object_in_all_with_the_caution(desk):
    examination = photographed("normal", lamp_s=90)
    examined(object=examination.object, lamp_s=240)
    examined(lamp_s=1000)
    page = text_of(page_of(desk, "ultraviolet", examination))
    assert "On this examination 1 min 30 s" in page
    assert "On this object in all, 2 examinations with the lamp 5 min 30 s" in page
    assert "Caution: ultraviolet lamps" in page
    assert "Your museum's rules for ultraviolet sources" in page


@pytest.mark.parametrize("kind", ["relief", "ultraviolet"])
def test_the_page_costs_the_same_for_many_suggestions(desk, kind, django_assert_max_num_queries):
    examination = photographed("raking", "raking", "raking", "normal", "ultraviolet")
    result = ULTRAVIOLET | {"width_mm": 310, "height_mm": 225, "px_per_mm": 4, "marks": MARKS * 20}
    read(examination, kind, result=result | {"regions": [REGION] * 40}, pictures={"shaded": SHADED})
    with django_assert_max_num_queries(34):
        page_of(desk, kind, examination)


@pytest.mark.parametrize("signed", [False, True])
def test_a_suggestion_is_dismissed_and_brought_back(desk, relief, signed):
    if signed:
        relief.examination.signed_at = relief.asked_at
        relief.examination.save()
    page = text_of(send(desk, "dismiss", relief, 1))
    assert page.count("Dismissed") == 1 and "Bring it back" in page
    assert relief.result["marks"] == MARKS
    assert "Dismissed" not in text_of(send(desk, "dismiss", relief, 1, back="yes"))
