"""The lights of one side: how each photograph lies, and saying so by points."""

import json

import pytest
from django.urls import reverse

from survey.examination.models import Photograph
from survey.reading.models import Alignment, LaterPlacing
from survey.sync.models import Change
from tests.desk.conftest import text_of
from tests.desk.readings import TENTH_MM, photographed, read
from tests.factories import MeasurementFactory, ObservationFactory, PhotographFactory, examined

pytestmark = pytest.mark.django_db

CORNERS = [(100, 50), (3000, 60), (3010, 2200), (90, 2190)]


def page_of(client, examination, **query):
    return client.get(reverse("desk:lights", args=[examination.pk]), query)


def given(page, name):
    content = page.content.decode()
    start = content.index(f'<script id="sheet-view-{name}" type="application/json">')
    text = content[content.index(">", start) + 1 : content.index("</script>", start)]
    return json.loads(text)


def points(prefix, places):
    return {
        f"{prefix}-{axis}{number}": value
        for number, place in enumerate(places)
        for axis, value in zip("xy", place, strict=True)
    }


def place(client, photograph, how, fields):
    return client.post(reverse("desk:place", args=[photograph.pk, how]), fields)


def shot(examination, light):
    return Photograph.objects.get(examination=examination, light=light)


def test_each_photograph_says_how_it_lies(desk):
    examination = photographed("normal", "raking", "transmitted", "ultraviolet")
    normal, raking = shot(examination, "normal"), shot(examination, "raking")
    transmitted = shot(examination, "transmitted")
    Alignment.objects.create(
        photograph=raking,
        onto=normal,
        matrix=[1, 0, 0, 0, 1, 0, 0, 0, 1],
        residual_mm=0.08,
        residual_95_mm=0.2,
    )
    failed = {
        "photograph": str(transmitted.pk),
        "matrix": None,
        "sentence": "Too little in common.",
    }
    read(examination, "align", result={"photographs": [failed]})
    page = text_of(page_of(desk, examination))
    assert "Aligned with normal light, within 0.08 mm (95 % of places within 0.20 mm)." in page
    assert "Too little in common. Not placed: set the corners." in page
    assert page.count("Not placed: set the corners.") == 2


def test_the_sheet_view_is_given_photographs_outlines_and_size(desk):
    examination = photographed("normal", "raking")
    PhotographFactory(examination=examination, light="transmitted")
    region = {"kind": "polygon", "points": [[10, 10], [20, 10], [20, 30]]}
    ObservationFactory(examination=examination, region=region, nature="feature")
    ObservationFactory(examination=examination)
    page = page_of(desk, examination)
    photographs = given(page, "photographs")
    assert [one["light"] for one in photographs] == ["normal", "raking"]
    assert photographs[0]["homography"] == TENTH_MM and photographs[1]["homography"] is None
    assert (photographs[0]["width_px"], photographs[0]["height_px"]) == (3100, 2250)
    (outline,) = given(page, "observations")
    assert outline["points"] == region["points"] and outline["nature"] == "feature"
    assert given(page, "sheet") == {"width_mm": 310.0, "height_mm": 225.0}
    assert "Not yet sent from the tablet." in text_of(page)


def test_each_side_has_its_own_photographs(desk):
    examination = photographed("normal")
    verso = PhotographFactory(examination=examination, light="normal", side="verso")
    recto_page, verso_page = page_of(desk, examination), page_of(desk, examination, side="verso")
    assert f"photograph-{verso.pk}" not in recto_page.content.decode()
    assert f"photograph-{verso.pk}" in verso_page.content.decode()


def test_corners_are_set_and_the_change_is_in_the_log(desk, conservator):
    photograph = shot(photographed("normal", placed=False), "normal")
    answer = place(desk, photograph, "corners", points("at", CORNERS))
    assert answer.status_code == 302
    photograph.refresh_from_db()
    assert photograph.placing["points"] == [list(map(float, corner)) for corner in CORNERS]
    change = Change.objects.get(entity="photograph", entity_id=str(photograph.pk))
    assert change.person == conservator
    shown = desk.get(reverse("desk:place", args=[photograph.pk, "corners"])).content.decode()
    assert 'name="at-x1" value="3000.0"' in shown


def test_after_signing_the_corners_stand_beside_the_record(desk):
    photograph = shot(photographed("normal", placed=False, signed=True), "normal")
    page = desk.get(reverse("desk:place", args=[photograph.pk, "corners"]))
    assert "The examination is signed and stays as it is." in text_of(page)
    assert place(desk, photograph, "corners", points("at", CORNERS)).status_code == 302
    photograph.refresh_from_db()
    assert photograph.homography is None
    assert LaterPlacing.objects.get(photograph=photograph).placing["kind"] == "corners"


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ([CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]], "cross"),
        ([*CORNERS[:3], (9000, 2190)], "Give 3100 or less."),
        (CORNERS[:3], "Fill this in."),
    ],
)
def test_wrong_corners_are_told_and_nothing_set_is_lost(desk, places, said):
    photograph = shot(photographed("normal", placed=False), "normal")
    answer = place(desk, photograph, "corners", points("at", places))
    assert answer.status_code == 400
    assert said in text_of(answer)
    assert 'value="100"' in answer.content.decode()
    photograph.refresh_from_db()
    assert photograph.homography is None


def test_a_scale_is_set_by_two_points_and_a_length(desk):
    photograph = shot(photographed("normal", placed=False), "normal")
    fields = points("at", [(200, 2200), (1200, 2200)]) | {"at-length_mm": "100"}
    assert place(desk, photograph, "scale", fields).status_code == 302
    photograph.refresh_from_db()
    assert photograph.placing["mm_per_px"] == pytest.approx(0.1)


def test_a_photograph_is_moved_by_hand_by_two_places_on_both(desk, conservator):
    examination = photographed("normal", "raking")
    raking = shot(examination, "raking")
    fields = points("from", [(500, 500), (2500, 1500)]) | points("to", [(510, 495), (2510, 1495)])
    assert place(desk, raking, "by-hand", fields).status_code == 302
    alignment = Alignment.objects.get(photograph=raking)
    assert alignment.matrix == pytest.approx([1, 0, 10, 0, 1, -5, 0, 0, 1], abs=1e-6)
    page = text_of(page_of(desk, examination))
    assert f"Moved by hand by {conservator.name}" in page


def test_the_photograph_in_normal_light_is_what_others_are_moved_onto(desk):
    normal = shot(photographed("normal", "raking"), "normal")
    assert desk.get(reverse("desk:place", args=[normal.pk, "by-hand"])).status_code == 404


def test_a_courier_looks_but_sets_nothing(courier_desk):
    examination = photographed("normal", placed=False)
    assert "Set corners" not in text_of(page_of(courier_desk, examination))
    answer = place(courier_desk, shot(examination, "normal"), "corners", points("at", CORNERS))
    assert answer.status_code == 403


def test_an_examination_without_photographs_says_where_they_come_from(desk):
    assert "No photograph of the recto is here." in text_of(page_of(desk, examined()))


def test_what_cannot_be_read_yet_is_refused_with_a_sentence(desk):
    examination = photographed("normal")
    answer = desk.post(
        reverse("desk:read", args=[examination.pk]), {"kind": "paper", "side": "recto"}, follow=True
    )
    assert answer.status_code == 200 and answer.context["messages"]


def test_the_page_costs_the_same_for_many_photographs(desk, django_assert_max_num_queries):
    examination = photographed("normal", *["raking"] * 8)
    for _ in range(5):
        ObservationFactory(examination=examination)
    with django_assert_max_num_queries(32):
        page_of(desk, examination)


def test_the_row_of_links_stands_on_the_object_and_the_examination(desk):
    examination = photographed("normal", signed=True)
    for name, key in (("examination", examination.pk), ("object", examination.object_id)):
        content = desk.get(reverse(f"desk:{name}", args=[key])).content.decode()
        assert reverse("desk:lights", args=[examination.pk]) in content


def test_what_was_measured_and_marked_on_a_photograph_is_given_to_the_sheet_view(desk):
    examination = photographed("normal")
    photograph = examination.photographs.get()
    MeasurementFactory(
        examination=examination,
        photograph=photograph,
        what="Tear",
        value=12.4,
        uncertainty=0.3,
        points=[[10, 10], [20, 17.3]],
    )
    mark = {"photograph": str(photograph.pk), "x": 0.5, "y": 0.5}
    ObservationFactory(examination=examination, mark=mark)
    page = page_of(desk, examination)
    (line,) = given(page, "lines")
    assert (line["name"], line["label"], line["open"]) == ("Tear", "12.4 ± 0.3 mm", True)
    (marked,) = given(page, "observations")
    assert marked["points"] == [pytest.approx([155.0, 112.5])]
